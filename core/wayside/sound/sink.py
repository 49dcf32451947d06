"""Collects decoded blocks into a `Recording`, checking every sample on the way."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.errors import MediaError
from wayside.sound.clipping import ClipCounter
from wayside.sound.recording import Gap, MemoryStore, Recording
from wayside.sound.store import FileStore

LOWEST_RATE_HZ, HIGHEST_RATE_HZ = 8_000, 192_000
MOST_CHANNELS = 64
LONGEST_S = 4 * 3600.0
SHORTEST_S = 0.1
IN_MEMORY_BYTES = 64 * 2**20
SILENT_SPAN = 1e-6
ALL_CLIPPED = 0.95
NOTED_CLIPPED = 0.001


class Sink:
    """Takes blocks in order and makes the recording at the end.

    Parameters
    ----------
    name : str
        File name for messages.
    rate_hz : float
    n_channels : int
    quantum : float
        Step of the sample format, full scale 1.
    lossy : bool
        Whether the samples come from a lossy codec.

    Raises
    ------
    MediaError
        The rate or channel count cannot be used.
    """

    def __init__(
        self, name: str, rate_hz: float, n_channels: int, quantum: float, lossy: bool
    ) -> None:
        if not LOWEST_RATE_HZ <= rate_hz <= HIGHEST_RATE_HZ:
            raise MediaError(
                f"“{name}” is sampled at {rate_hz:g} Hz; export it at a rate from 8 to 192 kHz."
            )
        if not 1 <= n_channels <= MOST_CHANNELS:
            raise MediaError(
                f"“{name}” has {n_channels} channels; export it with at most {MOST_CHANNELS}."
            )
        self._name = name
        self._rate_hz = float(rate_hz)
        self._n_channels = n_channels
        self._clip = ClipCounter(n_channels, quantum, lossy)
        self._low = np.full(n_channels, np.inf)
        self._high = np.full(n_channels, -np.inf)
        self._blocks: list[npt.NDArray[np.float32]] = []
        self._file: FileStore | None = None
        self.n_samples = 0

    def append(self, block: npt.NDArray[np.float32]) -> None:
        """Add samples of shape (n, n_channels)."""
        if not len(block):
            return
        self._check_numbers(block)
        self._clip.add(block)
        # a channel at a time: across the few values of one moment it takes thirty times as long
        channels = np.ascontiguousarray(block.T)
        np.minimum(self._low, channels.min(axis=1), out=self._low)
        np.maximum(self._high, channels.max(axis=1), out=self._high)
        self._keep(block)

    def _check_numbers(self, block: npt.NDArray[np.float32]) -> None:
        finite = np.isfinite(block)
        if finite.all():
            return
        row = int(np.flatnonzero(~finite.all(axis=1))[0])
        raise MediaError(
            f"“{self._name}” holds samples that are not numbers, first at "
            f"{(self.n_samples + row) / self._rate_hz:.3f} s; export the recording again."
        )

    def _keep(self, block: npt.NDArray[np.float32]) -> None:
        self.n_samples += len(block)
        if self.n_samples > LONGEST_S * self._rate_hz:
            raise too_long(self._name)
        self._blocks.append(block)
        if self._file is None and self.n_samples * self._n_channels * 4 > IN_MEMORY_BYTES:
            self._file = FileStore(self._n_channels)
        if self._file is not None:
            self._file.write(self._blocks)
            self._blocks.clear()

    def finish(
        self, start_s: float = 0.0, gaps: tuple[Gap, ...] = (), notes: tuple[str, ...] = ()
    ) -> Recording:
        """Judge the whole and return it.

        Raises
        ------
        MediaError
            Too short, silent, or clipped throughout.
        """
        name, duration_s = self._name, self.n_samples / self._rate_hz
        if duration_s < SHORTEST_S:
            raise MediaError(
                f"“{name}” holds only {duration_s:.3g} s of sound ({_count(self.n_samples)}); "
                f"choose a recording of the whole pass-by, several seconds long."
            )
        if float((self._high - self._low).max()) <= SILENT_SPAN:
            raise MediaError(
                f"“{name}” is silent from start to end; check that the microphone was on and "
                f"record again."
            )
        clipped = self._clip.fraction
        if clipped > ALL_CLIPPED:
            raise MediaError(
                f"“{name}” is clipped throughout ({clipped:.0%} of the samples are at full "
                f"scale); record again further away or at a lower input level."
            )
        if clipped > NOTED_CLIPPED:
            notes = (
                *notes,
                f"{clipped:.1%} of the samples are clipped; the pitch survives this, the loudness "
                f"does not.",
            )
        store = self._file or MemoryStore(np.concatenate(self._blocks))
        return Recording(
            name, self._rate_hz, self.n_samples, self._n_channels, store, start_s, gaps,
            clipped, notes,
        )  # fmt: skip


def too_long(name: str) -> MediaError:
    """Return the error for a recording beyond `LONGEST_S`."""
    return MediaError(
        f"“{name}” is longer than {LONGEST_S / 3600:.0f} hours; cut out the pass-by and open that."
    )


def _count(n: int) -> str:
    return "1 sample" if n == 1 else f"{n} samples"
