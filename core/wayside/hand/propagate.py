"""Numbers that carry their uncertainty and its causes: the only user of `uncertainties`.

Linear propagation with every correlation kept (JCGM 100:2008, 5.2). Plain floats and arrays
pass through the same formulas, so one formula serves values, budgets and Monte Carlo.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
from uncertainties import (
    UFloat,
    Variable,
    covariance_matrix,
    nominal_value,
    std_dev,
    umath,
)

from wayside.quantity import Quantity

Number: TypeAlias = Any
"""A float, an array, or a number made by `uncertain`."""


def uncertain(value: float, u: float, tag: str) -> Number:
    """Return an independent number with standard uncertainty `u`, traced under `tag`."""
    return Variable(value, u, tag)


def correlated(values: Sequence[float], covariance: npt.ArrayLike) -> tuple[Number, ...]:
    """Return numbers with the given covariance matrix, shape (n, n)."""
    spreads, axes = np.linalg.eigh(np.asarray(covariance, dtype=np.float64))
    causes = [Variable(0.0, math.sqrt(max(float(s), 0.0))) for s in spreads]
    return tuple(
        value + sum(float(axis) * cause for axis, cause in zip(row, causes, strict=True))
        for value, row in zip(values, axes, strict=True)
    )


def value_of(x: Number) -> float:
    """Return the best estimate."""
    return float(nominal_value(x))


def u_of(x: Number) -> float:
    """Return the standard uncertainty (0 for a plain float)."""
    return float(std_dev(x))


def as_quantity(x: Number, unit: str) -> Quantity:
    """Return value and standard uncertainty as a `Quantity`."""
    return Quantity(value_of(x), u_of(x), unit)


def traced(x: Number) -> Number:
    """Return a number whose causes have been worked out.

    They would be anew for everything that is made of it, however long its formula.
    """
    sensitivities(x)
    return x


def sensitivities(x: Number) -> Mapping[str, float]:
    """Return d(x)/d(input) by tag, for every tagged input `x` depends on."""
    derivatives = getattr(x, "derivatives", {})
    return {v.tag: float(d) for v, d in derivatives.items() if v.tag is not None}


def correlation(numbers: Sequence[Number]) -> npt.NDArray[np.float64]:
    """Return the correlation matrix, shape (n, n); exact numbers correlate with nothing."""
    covariance = covariances(numbers)
    spread = np.sqrt(np.diag(covariance))
    safe = np.where(spread > 0, spread, 1.0)
    matrix = covariance / np.outer(safe, safe)
    np.fill_diagonal(matrix, 1.0)
    return np.asarray(matrix, dtype=np.float64)


def covariances(numbers: Sequence[Number]) -> npt.NDArray[np.float64]:
    """Return the covariance matrix, shape (n, n)."""
    all_traced = [x if hasattr(x, "derivatives") else Variable(x, 0.0) for x in numbers]
    return np.asarray(covariance_matrix(all_traced), dtype=np.float64)


def cents(ratio: Number) -> Number:
    """Return a frequency ratio in cents, ``1200 log2(ratio)``."""
    logarithm = umath.log(ratio) if isinstance(ratio, UFloat) else np.log(ratio)
    return logarithm * (1200.0 / math.log(2.0))
