"""A recording: samples on the film's clock, with what is known to be wrong with them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt

# two like channels of opposite sign leave less than this share of the power of one
CANCELLED = 0.3


class SampleStore(Protocol):
    """Where samples live: in memory, or in a temporary file for long recordings."""

    def read(self, start: int, stop: int) -> npt.NDArray[np.float32]:
        """Return samples `start` to `stop` as float32, shape (stop - start, n_channels)."""
        ...


@dataclass(frozen=True)
class MemoryStore:
    """Samples held in memory, shape (n_samples, n_channels)."""

    samples: npt.NDArray[np.float32]

    def read(self, start: int, stop: int) -> npt.NDArray[np.float32]:
        """Return a view of samples `start` to `stop`."""
        return self.samples[start:stop]


@dataclass(frozen=True)
class Gap:
    """A hole in the recording, filled with zeros.

    Parameters
    ----------
    start_s, duration_s : float
        Position on the recording's clock and length (s).
    """

    start_s: float
    duration_s: float


@dataclass(frozen=True)
class Recording:
    """One decoded sound track.

    Parameters
    ----------
    name : str
        File name without folders, for messages.
    rate_hz : float
        True sample rate (Hz).
    n_samples, n_channels : int
        Length and channel count.
    store : SampleStore
        Where the samples live; full scale is 1.
    start_s : float
        Time of sample 0 on the film's clock (s); 0 for plain audio.
    gaps : tuple of Gap
        Holes that were filled with zeros.
    clipped_fraction : float
        Share of samples at full scale in flat-topped runs.
    notes : tuple of str
        One plain sentence each on what was noticed while decoding.
    """

    name: str
    rate_hz: float
    n_samples: int
    n_channels: int
    store: SampleStore
    start_s: float = 0.0
    gaps: tuple[Gap, ...] = ()
    clipped_fraction: float = 0.0
    notes: tuple[str, ...] = field(default=())

    @property
    def duration_s(self) -> float:
        """Length (s)."""
        return self.n_samples / self.rate_hz

    def read(self, start: int, stop: int) -> npt.NDArray[np.float32]:
        """Return samples `start` to `stop`, clamped to the recording, (n, n_channels)."""
        start = min(max(start, 0), self.n_samples)
        stop = min(max(stop, start), self.n_samples)
        return self.store.read(start, stop)

    def mono(self, start: int = 0, stop: int | None = None) -> npt.NDArray[np.float32]:
        """Return one channel from sample `start` to `stop`, shape (n,).

        That is the mean of the channels, or the strongest where they cancel in the mean.
        """
        block = self.read(start, self.n_samples if stop is None else stop)
        if block.shape[1] == 1:
            return block[:, 0]
        mean = np.asarray(block.mean(axis=1, dtype=np.float32), dtype=np.float32)
        each = np.einsum("ij,ij->j", block, block, dtype=np.float64)
        if float(np.einsum("i,i", mean, mean, dtype=np.float64)) < CANCELLED * float(each.max()):
            return np.ascontiguousarray(block[:, int(each.argmax())])
        return mean

    @classmethod
    def from_array(
        cls, samples: npt.ArrayLike, rate_hz: float, name: str = "array", start_s: float = 0.0
    ) -> Recording:
        """Wrap an array of shape (n,) or (n, n_channels) with full scale 1."""
        data = np.asarray(samples, dtype=np.float32)
        if data.ndim == 1:
            data = data[:, None]
        return cls(name, float(rate_hz), data.shape[0], data.shape[1], MemoryStore(data), start_s)
