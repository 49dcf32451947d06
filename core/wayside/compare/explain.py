"""Which single hand measurement, if wrong, would explain the difference.

One input at a time is set free and the value sought that brings the predicted pitches
closest to the measured ones, weighed by what all the other inputs and the measurement leave
open. Solved on the full formulas, not on slopes, since the value needed may be far away.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

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

_MOST_STEPS = 60
_CLOSE_ENOUGH = 1e-10
_HALVINGS = 0.5 ** np.arange(15, -1, -1)


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
    aim = target.pitches_hz[:, None]
    used = list(target.used)

    def residuals(x: FloatArray) -> FloatArray:
        with np.errstate(all="ignore"):
            try:
                _, outcome = evaluate(setup, {**plain, free.path: x}, inputs)
                pitches = np.stack(np.broadcast_arrays(outcome.approach, outcome.recede, x)[:2])
            except (ZeroDivisionError, OverflowError, TypeError, ValueError):
                return np.full((len(used), len(x)), 1e6)
        return np.nan_to_num(white @ (pitches[used] - aim), nan=1e6, posinf=1e6, neginf=-1e6)

    low, high = _bounds(free, plain)
    if not low < free.value < high:
        return None
    scale = free.u or 1e-3 * abs(free.value) or 1e-6 * (high - low)
    needed, cost, slope = least(residuals, free.value, low, high, scale)
    spread = 1.0 / slope if slope else math.inf
    if not math.isfinite(needed) or spread > high - low:
        return None
    if free.field.whole:
        cost = max(cost, float(np.sum(residuals(np.array([round(needed)])) ** 2)))
    return _explanation(free, needed, spread, cost)


def least(
    residuals: Callable[[FloatArray], FloatArray],
    start: float,
    low: float,
    high: float,
    scale: float,
) -> tuple[float, float, float]:
    """Return where the sum of squared residuals is least, that sum, and the slope there.

    Gauss-Newton in one unknown, kept within bounds, steps halved until the sum falls.

    Parameters
    ----------
    residuals : callable
        ``residuals(x)`` of shape (n, k) for x of shape (k,).
    start, low, high : float
        ``low < start < high``.
    scale : float
        Change of x over which the residuals are nearly straight.
    """
    width = high - low
    x, r, slope = start, *_slope(residuals, start, low, high, scale)
    cost = float(r @ r)
    for _ in range(_MOST_STEPS):
        curvature = float(slope @ slope)
        if not curvature:
            break
        step = -float(slope @ r) / curvature
        found = _descend(residuals, x, step, low, high, cost)
        if found is None or abs(found - x) <= _CLOSE_ENOUGH * max(abs(x), _CLOSE_ENOUGH * width):
            break
        x = found
        r, slope = _slope(residuals, x, low, high, scale)
        cost = float(r @ r)
    return x, cost, float(np.linalg.norm(slope))


def _descend(
    residuals: Callable[[FloatArray], FloatArray],
    x: float,
    step: float,
    low: float,
    high: float,
    cost: float,
) -> float | None:
    """Return the longest of the halved steps down to which the sum keeps falling, or None.

    A longer one that is lower again lies beyond a barrier (faster than sound, say).
    """
    tries = np.clip(x + step * _HALVINGS, low, high)
    sums = np.concatenate([[cost], np.sum(residuals(tries) ** 2, axis=0)])
    falling = np.diff(sums) <= 0.0
    count = len(falling) if falling.all() else int(np.argmin(falling))
    return float(tries[count - 1]) if count else None


def _slope(
    residuals: Callable[[FloatArray], FloatArray], x: float, low: float, high: float, scale: float
) -> tuple[FloatArray, FloatArray]:
    """Return the residuals and their derivative at `x`, by a central difference."""
    h = max(1e-3 * scale, 1e-9 * abs(x), 1e-12 * (high - low))
    ends = np.array([x, max(x - h, low), min(x + h, high)])
    r = residuals(ends)
    return r[:, 0], (r[:, 2] - r[:, 1]) / (ends[2] - ends[1])


def _bounds(free: Input, plain: dict[str, float]) -> tuple[float, float]:
    margin = 1e-9 * max(abs(free.field.low), abs(free.field.high), 1.0)
    low, high = free.field.low - margin, free.field.high + margin
    if free.path == "motion.first_time":
        high = min(high, plain["motion.second_time"] - 1e-6)
    if free.path == "motion.second_time":
        low = max(low, plain["motion.first_time"] + 1e-6)
    if free.path == "motion.first_frame":
        high = min(high, plain["motion.second_frame"] - 1e-3)
    if free.path == "motion.second_frame":
        low = max(low, plain["motion.first_frame"] + 1e-3)
    return low, high


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
