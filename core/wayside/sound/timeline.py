"""Puts decoded pieces of sound at their presentation times on one sample grid.

A piece that starts later than the one before it ended leaves a hole, filled with zeros; one
that starts earlier is trimmed, unless the clock plainly started anew. Time stamps jitter (a
container may round them to 1 ms), so small differences are not holes: they are followed
slowly and reported as drift.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from wayside.sound.recording import Gap

SMALLEST_HOLE_S = 0.005
FOLLOW = 0.05
ZEROS_BLOCK = 1 << 16
LONGEST_HOLE_S = 3600.0
CLOCK_RESTART_S = 1.0


class Timeline:
    """Places pieces of sound one after another.

    Parameters
    ----------
    rate_hz : int
    n_channels : int
    time_base : Fraction
        Length of one tick (s).

    Attributes
    ----------
    start : Fraction or None
        Time of the first sample (s), None before the first piece.
    gaps : list of Gap
        Holes filled so far.
    overlap_s, drift_s : float
        Sound trimmed because pieces overlapped; slow drift of the time stamps against the count
        of samples (s).
    restarts : int
        How often the time stamps jumped far back.
    """

    def __init__(self, rate_hz: int, n_channels: int, time_base: Fraction) -> None:
        self._rate_hz = rate_hz
        self._n_channels = n_channels
        self._time_base = time_base
        self._position = 0
        self._drift = 0.0
        self._tolerance = max(SMALLEST_HOLE_S * rate_hz, 2.0 * float(time_base) * rate_hz)
        self.start: Fraction | None = None
        self.gaps: list[Gap] = []
        self.overlap_s = 0.0
        self.restarts = 0

    @property
    def drift_s(self) -> float:
        """Time stamps minus sample count at the latest piece, holes apart (s)."""
        return 0.0 if self.restarts else self._drift / self._rate_hz

    def place(
        self, ticks: int | None, samples: npt.NDArray[np.float32]
    ) -> Iterator[npt.NDArray[np.float32]]:
        """Yield what to append for a piece that starts at `ticks`, zeros for a hole included."""
        if self.start is None:
            self.start = ticks * self._time_base if ticks is not None else Fraction(0)
        elif ticks is not None:
            offset = (ticks * self._time_base - self.start) * self._rate_hz - self._position
            jump = float(offset) - self._drift
            if jump > self._tolerance:
                yield from self._hole(round(jump))
            elif jump < -CLOCK_RESTART_S * self._rate_hz:
                self.restarts += 1
                self._drift += jump
            elif jump < -self._tolerance:
                samples = self._trim(round(-jump), samples)
            else:
                self._drift += FOLLOW * jump
        self._position += len(samples)
        yield samples

    def _hole(self, n: int) -> Iterator[npt.NDArray[np.float32]]:
        rate = self._rate_hz
        n = min(n, int(LONGEST_HOLE_S * rate))
        start_s = float(self.start or 0) + self._position / rate
        self.gaps.append(Gap(start_s, n / rate))
        self._position += n
        while n > 0:
            size = min(n, ZEROS_BLOCK)
            n -= size
            yield np.zeros((size, self._n_channels), dtype=np.float32)

    def _trim(self, n: int, samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
        cut = min(n, len(samples))
        self.overlap_s += cut / self._rate_hz
        return samples[cut:]
