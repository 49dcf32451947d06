"""How loud something is in the course of a recording."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Course:
    """An amplitude against its usual value, in the course of time.

    Parameters
    ----------
    times_s : ndarray, shape (n,)
    size : ndarray, shape (n,)
    """

    times_s: FloatArray
    size: FloatArray

    def at(self, times_s: FloatArray) -> FloatArray:
        """Return the amplitude at any times, shape of `times_s`."""
        return np.asarray(np.interp(times_s, self.times_s, self.size))
