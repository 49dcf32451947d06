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

    def changes(self, steps: FloatArray) -> tuple[ComplexArray, FloatArray]:
        """Return how the misses move and the variances grow, over the size that misses have.

        Parameters
        ----------
        steps : ndarray, shape (m - 1,)
            How far each of the other models is from the first.

        Returns
        -------
        turn, swell : ndarray, shape (n_blocks, m - 1, n_harmonics)
            A step of 1, of misses (complex) and of variances.
        """
        by = steps[None, :, None]
        s = self.variance[:, :1]
        turn = (self.miss[:, 1:] - self.miss[:, :1]) / by / np.sqrt(s)
        swell = (self.variance[:, 1:] - s) / by / s
        return turn, swell

    def slopes(self, turn: ComplexArray, swell: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return slopes and information of the first model.

        Parameters
        ----------
        turn, swell : ndarray, shape (n_blocks, n_open, n_harmonics)
            See `changes`.

        Returns
        -------
        scores : ndarray, shape (n_blocks, n_open)
            Slopes of the log-likelihood block by block.
        information : ndarray, shape (n_open, n_open)
            Expected curvature, given what is heard up to each block.
        """
        white = self.miss[:, :1] / np.sqrt(self.variance[:, :1])
        square = white.real**2 + white.imag**2
        scores = np.sum(
            -2.0 * (white.real * turn.real + white.imag * turn.imag) + (square - 1.0) * swell,
            axis=2,
        )
        rows = np.concatenate([np.sqrt(2.0) * turn.real, np.sqrt(2.0) * turn.imag, swell], axis=2)
        flat = rows.transpose(1, 0, 2).reshape(turn.shape[1], -1)
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
    if not np.any(one):
        return _of_one(heard, other, kept, noise)
    ways = np.stack([one, other], axis=1)
    back = ways.conj()
    miss, variance = np.empty_like(one), np.empty(one.shape)
    kept2 = kept * kept
    same = np.eye(2)[:, :, None, None]
    fresh = same * (1.0 - kept2)
    # what is known of the processes: their values, and the covariance of how far these are off
    state = np.zeros((2, *one.shape[1:]), np.complex128)
    off = np.zeros((2, *state.shape), np.complex128) + same
    for i in range(one.shape[0]):
        way = ways[i]
        part = way * state
        miss[i] = v = heard[i] - part[0] - part[1]
        part = off * back[i]
        shared = part[:, 0] + part[:, 1]
        part = way * shared
        variance[i] = s = (part[0] + part[1]).real + noise
        state += shared * (v / s)
        state *= kept
        off -= shared[:, None] * (shared.conj() / s)
        off *= kept2
        off += fresh
    return Foretold(miss, variance)


def _of_one(
    heard: ComplexArray, way: ComplexArray, kept: FloatArray, noise: FloatArray
) -> Foretold:
    """Foretell where only one of the processes is heard."""
    miss, variance = np.empty_like(way), np.empty(way.shape)
    power, back = way.real**2 + way.imag**2, way.conj()
    kept2 = kept * kept
    fresh = 1.0 - kept2
    state, off = np.zeros(way.shape[1:], np.complex128), np.ones(way.shape[1:])
    for i in range(way.shape[0]):
        miss[i] = v = heard[i] - way[i] * state
        shared = off * power[i]
        variance[i] = s = shared + noise
        seen = off / s
        state = kept * (state + back[i] * (seen * v))
        off = kept2 * (off - shared * seen) + fresh
    return Foretold(miss, variance)
