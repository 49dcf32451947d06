"""When each frame was taken: presentation times from the container, never index over rate."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np
import numpy.typing as npt

from wayside.errors import InputError

FloatArray = npt.NDArray[np.float64]
LONG_STEP = 1.75


@dataclass(frozen=True, eq=False)
class FrameTimes:
    """Presentation time of every frame shown, in rising order.

    Parameters
    ----------
    ticks : ndarray of int64, shape (n_frames,)
        Strictly rising, in units of `time_base`, on the film's clock.
    time_base : Fraction
        Length of one tick (s).
    is_key : ndarray of bool, shape (n_frames,)
        True where decoding can start.
    """

    ticks: npt.NDArray[np.int64]
    time_base: Fraction
    is_key: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.ticks)

    @cached_property
    def seconds(self) -> FloatArray:
        """Presentation times (s), shape (n_frames,)."""
        return self.ticks * self.time_base.numerator / self.time_base.denominator

    @cached_property
    def steps_s(self) -> FloatArray:
        """Time from each frame to the next (s), shape (n_frames - 1,)."""
        return np.diff(self.seconds)

    @cached_property
    def typical_step_s(self) -> float:
        """Median time between frames (s); 0 for a single frame."""
        return float(np.median(self.steps_s)) if len(self) > 1 else 0.0

    @property
    def rate_hz(self) -> float:
        """Frames a second, from the median step; 0 for a single frame."""
        return 1.0 / self.typical_step_s if self.typical_step_s else 0.0

    @property
    def tick_u_s(self) -> float:
        """Standard uncertainty of a time stamp from its rounding to whole ticks (s)."""
        return float(self.time_base) / 12**0.5

    def nearest(self, time_s: float) -> int:
        """Return the frame whose time is nearest to `time_s`."""
        right = int(np.searchsorted(self.seconds, time_s))
        if right == 0:
            return 0
        if right == len(self):
            return len(self) - 1
        left = right - 1
        return left if time_s - self.seconds[left] <= self.seconds[right] - time_s else right

    def last_at(self, time_s: float) -> int:
        """Return the frame on show at `time_s`: the last that starts at or before it."""
        return max(0, int(np.searchsorted(self.seconds, time_s, side="right")) - 1)

    def span(self, start_s: float | None = None, stop_s: float | None = None) -> tuple[int, int]:
        """Return (first, stop) so that frames ``first .. stop - 1`` lie within the times.

        Raises
        ------
        InputError
            No frame lies between the times.
        """
        first = 0 if start_s is None else int(np.searchsorted(self.seconds, start_s))
        stop = len(self) if stop_s is None else int(np.searchsorted(self.seconds, stop_s, "right"))
        if first >= stop:
            raise InputError(
                f"The film has no frame between those times; it runs from {self.seconds[0]:.3f} "
                f"to {self.seconds[-1]:.3f} s, so choose times within that."
            )
        return first, stop

    @cached_property
    def long_steps(self) -> npt.NDArray[np.intp]:
        """Frames after which at least one frame seems to be missing, shape (n_long,)."""
        if len(self) < 3:
            return np.zeros(0, dtype=np.intp)
        return np.flatnonzero(self.steps_s > LONG_STEP * self.typical_step_s)

    def uneven_share(self) -> float:
        """Return the greatest error index/rate would make, as a share of a frame."""
        if len(self) < 3:
            return 0.0
        even = np.linspace(self.seconds[0], self.seconds[-1], len(self))
        return float(np.abs(self.seconds - even).max() / self.typical_step_s)
