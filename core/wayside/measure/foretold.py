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

    def of(self, models: slice) -> Foretold:
        """Return those of some of the models."""
        return Foretold(self.miss[:, models], self.variance[:, models])

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
    back, shape = ways.conj(), one.shape[1:]
    miss, variance = np.empty_like(one), np.zeros_like(one)
    kept = np.broadcast_to(kept, shape).astype(np.complex128)
    kept2 = kept * kept
    fresh = 1.0 - kept2
    # what is known of the processes: their values, and the covariance of how far these are off
    state = np.zeros((2, *shape), np.complex128)
    off = np.zeros((2, 2, *shape), np.complex128)
    own = off.reshape(4, *shape)[::3]
    own[:] = 1.0
    # small arrays, many times: nothing is made anew, and no kind of number turned into another
    shared, gain, mirror, part = (np.empty_like(state) for _ in range(4))
    parts, outer = np.empty_like(off), gain[:, None]
    (one_part, other_part), (front, rear) = part, (parts[:, 0], parts[:, 1])
    size, one_size, other_size = variance.real, one_part.real, other_part.real
    add, subtract, multiply, divide = np.add, np.subtract, np.multiply, np.divide
    for z, way, way_back, v, s, real in zip(heard, ways, back, miss, variance, size, strict=True):
        multiply(way, state, part)
        add(one_part, other_part, v)
        subtract(z, v, v)
        multiply(off, way_back, parts)
        add(front, rear, shared)
        multiply(way, shared, part)
        add(one_size, other_size, real)
        add(real, noise, real)
        divide(shared, s, gain)
        multiply(gain, v, part)
        add(state, part, state)
        multiply(state, kept, state)
        multiply(outer, np.conjugate(shared, mirror), parts)
        subtract(off, parts, off)
        multiply(off, kept2, off)
        add(own, fresh, own)
    return Foretold(miss, np.ascontiguousarray(size))


def _of_one(
    heard: ComplexArray, way: ComplexArray, kept: FloatArray, noise: FloatArray
) -> Foretold:
    """Foretell where only one of the processes is heard."""
    shape = way.shape[1:]
    miss, variance = np.empty_like(way), np.empty(way.shape)
    power, back = way.real**2 + way.imag**2, way.conj()
    fresh = 1.0 - kept * kept
    left = kept * kept * noise
    kept = np.broadcast_to(kept, shape).astype(np.complex128)
    state, off = np.zeros(shape, np.complex128), np.ones(shape)
    part, gain = np.empty_like(state), np.zeros_like(state)
    # of the gain's own: what is seen is real, but for products with what is not
    seen = gain.real
    add, subtract, multiply, divide = np.add, np.subtract, np.multiply, np.divide
    for z, one, p, one_back, v, s in zip(heard, way, power, back, miss, variance, strict=True):
        multiply(one, state, v)
        subtract(z, v, v)
        multiply(off, p, s)
        add(s, noise, s)
        divide(off, s, seen)
        multiply(gain, v, part)
        multiply(part, one_back, part)
        add(state, part, state)
        multiply(state, kept, state)
        # what is left of it is as much of it as the noise is of what is heard
        multiply(seen, left, off)
        add(off, fresh, off)
    return Foretold(miss, variance)
