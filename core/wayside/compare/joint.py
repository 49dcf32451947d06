"""The joint test of the pitches heard, careful where an input rests on few repeats.

With infinite degrees of freedom ``m^T C^-1 m`` of the differences m with covariance C is
chi-square. If repeats are few, some direction in the plane of (approach, recede) may rest on
them far more than either pitch alone: the drop between the two, say, when only the speed was
repeated. The least degrees of freedom of any direction are therefore used for all of them,
which never makes a difference look surer than it is.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import chdtrc, chdtri, fdtrc

from wayside.compare.explain import whitener
from wayside.hand.inputs import Input
from wayside.hand.propagate import Number, covariances, sensitivities, value_of

FloatArray = npt.NDArray[np.float64]

_ANGLES = 181
_BOUND = 0.95


def joint_test(
    expected: tuple[Number, ...], seen: tuple[Number, ...], inputs: tuple[Input, ...]
) -> tuple[float, float]:
    """Return the statistic ``m^T C^-1 m`` and the probability of one as large by chance.

    Parameters
    ----------
    expected, seen : tuple of number
        One or two pitches each (Hz), carrying their uncertainties.
    inputs : tuple of Input
        What `expected` was worked out from.

    Notes
    -----
    With finite degrees of freedom nu the statistic over n is referred to F(n, nu), the law of
    a multivariate t vector.
    """
    if not seen:
        return math.nan, math.nan
    n = len(seen)
    misses = [m - p for p, m in zip(expected, seen, strict=True)]
    white = whitener(covariances(misses))
    statistic = float(np.sum((white @ np.array([value_of(x) for x in misses])) ** 2))
    dof = least_dof(white, misses, inputs)
    if math.isfinite(dof):
        return statistic, float(fdtrc(n, dof, statistic / n))
    return statistic, float(chdtrc(n, statistic))


def least_dof(white: FloatArray, misses: list[Number], inputs: tuple[Input, ...]) -> float:
    """Return the smallest effective degrees of freedom over all combinations of the misses.

    For a unit direction b in the whitened plane the variance is one and every input adds
    ``b . w_i``, so Welch-Satterthwaite (JCGM 100:2008, G.4.1) reads
    ``1/nu = sum (b . w_i)^4 / nu_i``; the largest sum is sought. As few repeats may lie close
    together by chance, each share is first raised to the one-sided 95 % bound of its variance.
    """
    few = [i for i in inputs if math.isfinite(i.dof)]
    if not few:
        return math.inf
    slopes = [sensitivities(m) for m in misses]
    shares = white @ np.array([[s.get(i.path, 0.0) * i.u for i in few] for s in slopes])
    angles = np.linspace(0.0, math.pi, _ANGLES) if len(misses) > 1 else np.zeros(1)
    directions = np.stack([np.cos(angles), np.sin(angles)][: len(misses)], axis=1)
    dof = np.array([i.dof for i in few])
    seen = (directions @ shares) ** 2
    most = seen * dof / chdtri(dof, _BOUND)
    most /= 1.0 + np.sum(most - seen, axis=1, keepdims=True)
    largest = float(np.max(most**2 @ (1.0 / dof)))
    return 1.0 / largest if largest > 0 else math.inf
