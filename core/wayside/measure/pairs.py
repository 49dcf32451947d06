"""How far apart each two of some numbers are, for what depends on that alone.

A covariance that depends on the distance is worked out once for each distance there is. Times an
even step apart have few.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Pairs:
    """How far apart each two of n numbers are, each distance but once.

    Parameters
    ----------
    distances : ndarray, shape (m,)
        Those that there are.
    index : ndarray, shape (n, n)
        Which of them each is.
    """

    distances: FloatArray
    index: npt.NDArray[np.intp]

    @classmethod
    def of(cls, numbers: FloatArray) -> Pairs:
        """Return those of some numbers; even ones share most of theirs."""
        apart = np.abs(numbers[:, None] - numbers[None, :])
        # apart by rounding only
        kinds = np.round(apart / max(float(np.max(apart)), 1e-300), 12)
        _, first, index = np.unique(kinds, return_index=True, return_inverse=True)
        return cls(apart.reshape(-1)[first], index.reshape(apart.shape))

    def spread(self, values: FloatArray) -> FloatArray:
        """Return what belongs to each distance where it is, shape (n, n)."""
        return np.asarray(np.take(values, self.index))
