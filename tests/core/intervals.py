"""Is a stated uncertainty true? Three statistics of error over uncertainty, each at 0.999."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy import stats

CHANCE = 0.999


def assert_true(scores: npt.ArrayLike, name: str = "") -> None:
    """Fail where errors over stated standard uncertainties are not those of a true statement.

    How many lie within one (binomial), their sum of squares (chi-square) and their mean
    (normal): the three exact tests that a sample of a standard normal law passes each with
    a chance of 0.999.
    """
    z = np.asarray(scores, dtype=np.float64)
    within = int(np.sum(np.abs(z) < 1))
    low, high = stats.binom.interval(CHANCE, z.size, math.erf(1 / math.sqrt(2)))
    assert low <= within <= high, f"{name}: {within} of {z.size} within one uncertainty"
    total = float(np.sum(z**2))
    low, high = stats.chi2.interval(CHANCE, z.size)
    assert low < total < high, f"{name}: sum of squares {total:.1f}, not {low:.1f} to {high:.1f}"
    mean, most = float(np.mean(z)), stats.norm.isf((1 - CHANCE) / 2) / math.sqrt(z.size)
    assert abs(mean) < most, f"{name}: mean {mean:.2f}, beyond {most:.2f}"
