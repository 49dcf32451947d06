"""Which single hand measurement, if wrong, would explain the difference.

One input at a time is set free and the value sought that brings the predicted pitches
closest to the measured ones, weighed by what all the other inputs and the measurement leave
open. Solved on the full formulas, not on slopes, since the value needed may be far away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from wayside.compare.result import Explanation
from wayside.hand import digits
from wayside.hand.inputs import Input
from wayside.hand.model import evaluate
from wayside.hand.propagate import Number, sensitivities
from wayside.hand.setup import Setup
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]

EXPLAINED = 4.0
"""Largest chi-square left (one degree of freedom) that still counts as agreement: k = 2."""

FAR_FETCHED = 5.0
"""Own standard uncertainties beyond which an explanation is called hardly believable."""


@dataclass(frozen=True)
class Target:
    """The measured pitches an explanation must reach.

    Parameters
    ----------
    pitches_hz : ndarray, shape (n,)
    covariance : ndarray, shape (n, n)
        Of the measured pitches (Hz^2).
    used : tuple of int
        Which of (approach, recede) they are.
    """

    pitches_hz: FloatArray
    covariance: FloatArray
    used: tuple[int, ...]


def explain(
    setup: Setup, inputs: tuple[Input, ...], predicted: tuple[Number, ...], target: Target
) -> tuple[Explanation, ...]:
    """Return one explanation for every input that can move the pitches, ranked.

    Parameters
    ----------
    setup : Setup
    inputs : tuple of Input
    predicted : tuple of number
        The predicted pitches in `target.used`, carrying their uncertainties.
    target : Target
    """
    slopes = np.array(
        [[sensitivities(p).get(i.path, 0.0) for i in inputs] for p in predicted], dtype=np.float64
    )
    variances = np.array([i.u**2 for i in inputs])
    found = []
    for k, i in enumerate(inputs):
        if not np.any(slopes[:, k]):
            continue
        others = np.where(np.arange(len(inputs)) == k, 0.0, variances)
        covariance = (slopes * others) @ slopes.T + target.covariance
        explanation = _solve(setup, inputs, i, target, whitener(covariance))
        if explanation is not None:
            found.append(explanation)
    return tuple(sorted(found, key=_rank))


def whitener(covariance: FloatArray) -> FloatArray:
    """Return W with ``W C W^T = 1``, shape (n, n); directions without spread get a floor."""
    values, vectors = np.linalg.eigh(covariance)
    floor = 1e-12 * max(float(values[-1]), 1e-12)
    return np.asarray((vectors / np.sqrt(np.maximum(values, floor))).T, dtype=np.float64)


def _solve(
    setup: Setup, inputs: tuple[Input, ...], free: Input, target: Target, white: FloatArray
) -> Explanation | None:
    """Return the best value of one input; None if not even its whole range would show."""
    plain = {i.path: i.value for i in inputs}

    def residuals(x: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            try:
                _, outcome = evaluate(setup, {**plain, free.path: float(x[0])}, inputs)
                pitches = np.array([outcome.approach, outcome.recede], dtype=np.float64)
            except (ZeroDivisionError, OverflowError, TypeError, ValueError):
                return np.full(len(target.used), 1e6)
        miss = pitches[list(target.used)] - target.pitches_hz
        return np.nan_to_num(white @ miss, nan=1e6, posinf=1e6, neginf=-1e6)

    low, high = _bounds(free, plain)
    if not low < free.value < high:
        return None
    scale = max(free.u or 1e-3 * abs(free.value), 1e-6 * (high - low))
    with np.errstate(all="ignore"):
        fit = least_squares(residuals, [free.value], bounds=([low], [high]), x_scale=[scale])
    slope = float(np.linalg.norm(fit.jac))
    needed, spread = float(fit.x[0]), 1.0 / slope if slope else math.inf
    if not math.isfinite(needed) or spread > high - low:
        return None
    remaining = 2.0 * float(fit.cost)
    if free.field.whole:
        remaining = max(remaining, float(np.sum(residuals(np.array([round(needed)])) ** 2)))
    return _explanation(free, needed, spread, remaining)


def _bounds(free: Input, plain: dict[str, float]) -> tuple[float, float]:
    low, high = free.field.low, free.field.high
    if free.path == "motion.first_time":
        high = min(high, plain["motion.second_time"] - 1e-6)
    if free.path == "motion.second_time":
        low = max(low, plain["motion.first_time"] + 1e-6)
    if free.path == "motion.first_frame":
        high = min(high, plain["motion.second_frame"] - 1e-3)
    if free.path == "motion.second_frame":
        low = max(low, plain["motion.first_frame"] + 1e-3)
    margin = 1e-9 * max(abs(low), abs(high), 1.0)
    return low - margin, high + margin


def _explanation(free: Input, needed: float, spread: float, remaining: float) -> Explanation:
    off = needed - free.value
    own = free.unit
    in_unit = Quantity(own.from_si(needed), own.u_from_si(spread), own.symbol)
    explains = remaining <= EXPLAINED
    sigmas = off / free.u if free.u else None
    return Explanation(
        free.path,
        free.label,
        own.symbol,
        own.from_si(free.value),
        own.u_from_si(free.u),
        in_unit,
        own.u_from_si(off),
        sigmas,
        explains,
        remaining,
        free.assumed,
        _sentence(free, in_unit, own.u_from_si(off), sigmas, explains),
    )


def _sentence(
    free: Input, needed: Quantity, off: float, sigmas: float | None, explains: bool
) -> str:
    given = Quantity(free.unit.from_si(free.value), free.unit.u_from_si(free.u), needed.unit)
    size = digits.with_unit(Quantity(abs(off), needed.u, needed.unit))
    way = "more" if off > 0 else "less"
    stretch = (
        "it was given as exact"
        if sigmas is None
        else f"{abs(sigmas):.1f} of its own standard uncertainties"
    )
    value = digits.full_text(needed)
    if free.field.whole:
        value += f" (nearest whole number {round(needed.value)})"
    if sigmas is not None and abs(sigmas) > FAR_FETCHED:
        stretch += ", hardly believable"
    close = "" if explains else "; even then the pitches would not agree"
    assumed = " (assumed)" if free.assumed else ""
    return (
        f"{free.label}{assumed}: {value} instead of {digits.with_unit(given)}, "
        f"that is {size} {way} ({stretch}){close}."
    )


def _rank(e: Explanation) -> tuple[bool, float]:
    if not e.explains:
        return (True, e.remaining)
    if e.sigmas is not None:
        return (False, abs(e.sigmas))
    # an exact count is as likely off by one as another entry by two of its uncertainties
    return (False, abs(e.off) / 0.5)
