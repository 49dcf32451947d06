"""What the blocks before foretell of the next, of two sources that forget their phase.

An envelope that is the sum of two complex normal processes, each with the covariance
``exp(-|t - t'|/T)`` of an Ornstein-Uhlenbeck process, seen in white noise, is Markov. Block by
block the processes are foretold from the blocks before, compared with what is heard, and
corrected (Kalman 1960, *J. Basic Eng.* 82, 35). The misses are unrelated, so that their sizes
give the likelihood, and how they move with the parameters gives the information (Harvey 1989,
*Forecasting, Structural Time Series Models and the Kalman Filter*, 3.4).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class Foretold:
    """How far each envelope was missed, for m models at once.

    Parameters
    ----------
    miss : ndarray, shape (n_blocks, m, n_harmonics), complex
        What was heard less what was foretold.
    variance : ndarray, shape (n_blocks, m, n_harmonics)
        How large its square should be.
    """

    miss: ComplexArray
    variance: FloatArray

    def terms(self) -> FloatArray:
        """Return the log-likelihood block by block, constants left out, shape (m, n_blocks)."""
        square = self.miss.real**2 + self.miss.imag**2
        return np.asarray(-np.sum(square / self.variance + np.log(self.variance), axis=2).T)

    def slopes(self, steps: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return slopes and information of the first model, from the others a step away each.

        Parameters
        ----------
        steps : ndarray, shape (m - 1,)

        Returns
        -------
        scores : ndarray, shape (n_blocks, m - 1)
            Slopes of the log-likelihood block by block.
        information : ndarray, shape (m - 1, m - 1)
            Expected curvature, given what is heard up to each block.
        """
        by = steps[None, :, None]
        s = self.variance[:, :1]
        miss = self.miss[:, :1]
        turn = (self.miss[:, 1:] - miss) / by / np.sqrt(s)
        swell = (self.variance[:, 1:] - s) / by / s
        white = miss / np.sqrt(s)
        square = white.real**2 + white.imag**2
        scores = np.sum(
            -2.0 * (white.real * turn.real + white.imag * turn.imag) + (square - 1.0) * swell,
            axis=2,
        )
        rows = np.concatenate([np.sqrt(2.0) * turn.real, np.sqrt(2.0) * turn.imag, swell], axis=2)
        flat = rows.transpose(1, 0, 2).reshape(steps.size, -1)
        return np.asarray(scores), np.asarray(flat @ flat.T)


def foretold(
    heard: ComplexArray, one: ComplexArray, other: ComplexArray, kept: FloatArray, noise: FloatArray
) -> Foretold:
    """Foretell each block's envelopes from those before.

    Parameters
    ----------
    heard : ndarray, shape (n_blocks, n_harmonics) or (n_blocks, m, n_harmonics), complex
        Envelopes, the same for all or each model's own.
    one, other : ndarray, shape (n_blocks, m, n_harmonics), complex
        What each of the two processes, of unit power, is multiplied by where it is heard.
    kept : ndarray, shape (m, n_harmonics)
        Correlation of a process with itself a block later.
    noise : ndarray, shape (m, n_harmonics)
        Noise power.

    Returns
    -------
    Foretold
    """
    n, *shape = one.shape
    miss, variance = np.empty_like(one), np.empty(one.shape)
    x, y = np.zeros(shape, np.complex128), np.zeros(shape, np.complex128)
    xx, yy, xy = np.ones(shape), np.ones(shape), np.zeros(shape, np.complex128)
    kept2 = kept * kept
    fresh = 1.0 - kept2
    back, back_other = one.conj(), other.conj()
    for i in range(n):
        a, b = one[i], other[i]
        miss[i] = v = heard[i] - a * x - b * y
        to_x = xx * back[i] + xy * back_other[i]
        to_y = xy.conj() * back[i] + yy * back_other[i]
        variance[i] = s = (a * to_x + b * to_y).real + noise
        v = v / s
        x = kept * (x + to_x * v)
        y = kept * (y + to_y * v)
        xx = kept2 * (xx - (to_x.real**2 + to_x.imag**2) / s) + fresh
        yy = kept2 * (yy - (to_y.real**2 + to_y.imag**2) / s) + fresh
        xy = kept2 * (xy - to_x * to_y.conj() / s)
    return Foretold(miss, variance)
