"""Mean and covariance of a mixture of fits of one model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError

from wayside.measure.ladder import moved, scale_of
from wayside.measure.motion import to_vector
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

FACTORS = (0, 1, 2)


@dataclass(frozen=True)
class Part:
    """One fit of a mixture.

    Parameters
    ----------
    passby : PassBy
    covariance : ndarray, shape (n_free, n_free)
        Of the free parameters in steps of `wayside.measure.ladder.scale_of`.
    height : float
        Log of its weight, up to a constant.
    """

    passby: PassBy
    covariance: FloatArray
    height: float


def steps_between(start: PassBy, end: PassBy, free: tuple[int, ...]) -> FloatArray:
    """Return the scaled steps from one pass-by to another, shape (n_free,).

    Positive parameters count as factors, as `wayside.measure.ladder.moved` takes them.
    """
    a, b = to_vector(start), to_vector(end)
    step = (b - a) / scale_of(start)
    for i in FACTORS:
        step[i] = np.log(b[i] / a[i])
    return np.asarray(step[list(free)])


def weights_of(parts: Sequence[Part]) -> FloatArray:
    """Return the weights, which add up to 1, shape (n_parts,).

    A maximum without a width weighs nothing; `LinAlgError` is raised where none has one.
    """
    height = np.array([part.height for part in parts])
    height = np.where(np.isfinite(height), height, -np.inf)
    if not np.any(np.isfinite(height)):
        raise LinAlgError("no maximum of the likelihood has a width")
    return shares_of(height)


def shares_of(logs: FloatArray) -> FloatArray:
    """Return weights given by their logarithms, made to add up to 1, shape (n,)."""
    weight = np.exp(logs - logs.max())
    return np.asarray(weight / weight.sum())


@dataclass(frozen=True)
class Mixture:
    """Several fits of one model as one.

    Parameters
    ----------
    passby : PassBy
        Their mean.
    covariance : ndarray, shape (n_free, n_free)
        In scaled steps, the spread between them included.
    parts : tuple of Part
    """

    passby: PassBy
    covariance: FloatArray
    parts: tuple[Part, ...]

    @property
    def height(self) -> float:
        """Log of the weights of all parts together."""
        return float(np.logaddexp.reduce([part.height for part in self.parts]))


def mixed(parts: Sequence[Part], free: tuple[int, ...]) -> Mixture:
    """Return the mean of the mixture and its covariance."""
    weights, lead = weights_of(parts), parts[0].passby
    steps = np.array([steps_between(lead, part.passby, free) for part in parts])
    mean = weights @ steps
    apart = steps - mean
    covariance = np.einsum("i,ijk->jk", weights, np.array([p.covariance for p in parts]))
    covariance += np.einsum("i,ij,ik->jk", weights, apart, apart)
    return Mixture(moved(lead, mean, free, most=np.inf), covariance, tuple(parts))


def widened(lead: Mixture, other: Part, free: tuple[int, ...]) -> Mixture:
    """Return a mixture with a further part that makes it wider, but its mean left where it is."""
    parts = (*lead.parts, other)
    share = weights_of(parts)[-1]
    step = steps_between(lead.passby, other.passby, free)
    covariance = (1.0 - share) * lead.covariance + share * (other.covariance + np.outer(step, step))
    return Mixture(lead.passby, covariance, parts)
