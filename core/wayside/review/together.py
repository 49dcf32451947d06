"""What the rows of many runs say together, quantity by quantity."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wayside.hand import digits
from wayside.hand.predict import RESULTS
from wayside.measure.options import MeasureOptions
from wayside.quantity import Quantity
from wayside.review.pool import Pooled, pool
from wayside.review.row import MEASURED, RunRow

POOLED = ("speed_mps", "source_hz", "approach_hz", "recede_hz")
"""The quantities worth a mean over runs."""

AIR, CLOCK = "speed of sound", "recorder's clock"

MOST_SHARED = 0.999
"""Most of a run's uncertainty that may be shared; what is left lets it be weighed."""

ALIKE = 0.5
"""Runs further apart than this part of their mean are hardly repeats of one thing."""

_CLOCK = 1e-6 * MeasureOptions().clock_ppm


@dataclass(frozen=True)
class Together:
    """One quantity over many runs.

    Parameters
    ----------
    name : str
        One of `POOLED`.
    names : tuple of str
        The runs that went in, in order.
    values : tuple of Quantity
        What each gave.
    shared : mapping of str to tuple of float
        As taken by `wayside.review.pool.pool`.
    pooled : Pooled
    difference : bool
        True for measured minus predicted, False for the measured values themselves.
    """

    name: str
    names: tuple[str, ...]
    values: tuple[Quantity, ...]
    shared: dict[str, tuple[float, ...]]
    pooled: Pooled
    difference: bool

    @property
    def sentence(self) -> str:
        """The result in plain words."""
        return _sentence(self)


def pool_measured(rows: Sequence[RunRow], name: str) -> Together | None:
    """Return the mean of a measured quantity over the runs, or None where no run gives it.

    The speed of sound (for speeds) and the recorder's clock (for pitches) are taken as shared
    by all runs: one thermometer, one telephone.
    """
    used = [r for r in _measured(rows) if _usable(r.sides(name).measured)]
    values = tuple(q for r in used if (q := r.sides(name).measured) is not None)
    if name == "speed_mps":
        parts = tuple(
            abs(q.value) * r.sound_speed_mps.relative_u if r.sound_speed_mps else 0.0
            for q, r in zip(values, used, strict=True)
        )
        shared = {AIR: parts}
    else:
        shared = {CLOCK: tuple(_CLOCK * q.value for q in values)}
    return _together(name, used, values, shared, difference=False)


def pool_differences(rows: Sequence[RunRow], name: str) -> Together | None:
    """Return the mean of measured minus predicted over the runs, or None without any.

    An entry written alike in every set-up (a marker distance, a temperature) is one
    measurement that all runs share; what differs from run to run is each run's own.
    """
    used = [r for r in _measured(rows) if _usable(r.sides(name).difference)]
    values = tuple(q for r in used if (q := r.sides(name).difference) is not None)
    by_run = [{(p.path, p.value, p.u): p.contribution for p in r.parts.get(name, ())} for r in used]
    common = set.intersection(*(set(p) for p in by_run)) if len(by_run) > 1 else set()
    shared = {key[0]: tuple(parts[key] for parts in by_run) for key in sorted(common)}
    return _together(name, used, values, shared, difference=True)


def _together(
    name: str,
    used: list[RunRow],
    values: tuple[Quantity, ...],
    shared: dict[str, tuple[float, ...]],
    difference: bool,
) -> Together | None:
    if not values:
        return None
    shared = _leaving_own(values, shared)
    pooled = pool(values, shared)
    return Together(name, tuple(r.name for r in used), values, shared, pooled, difference)


def _leaving_own(
    values: tuple[Quantity, ...], shared: dict[str, tuple[float, ...]]
) -> dict[str, tuple[float, ...]]:
    """Scale shared parts down where they would leave a run nothing of its own to be weighed by."""
    sizes = [math.hypot(*parts) for parts in zip(*shared.values(), strict=True)] or [0.0]
    factors = [
        min(1.0, MOST_SHARED * q.u / size) if size else 1.0
        for q, size in zip(values, sizes, strict=False)
    ]
    return {
        cause: tuple(f * p for f, p in zip(factors, parts, strict=True))
        for cause, parts in shared.items()
    }


def _measured(rows: Sequence[RunRow]) -> list[RunRow]:
    return [r for r in rows if r.outcome == MEASURED]


def _usable(q: Quantity | None) -> bool:
    return q is not None and math.isfinite(q.value) and math.isfinite(q.u) and q.u > 0


def _sentence(t: Together) -> str:
    p, label = t.pooled, RESULTS[t.name][0]
    what = f"{label}, measured minus predicted," if t.difference else label
    what = what[:1].upper() + what[1:]
    mean = digits.full_text(p.mean)
    if p.n == 1:
        return f"{what}: one run, {mean}; a second run would show scatter."
    low, high = min(q.value for q in t.values), max(q.value for q in t.values)
    unit = p.mean.unit
    if not t.difference and high - low > ALIKE * abs(p.mean.value):
        return (
            f"{what} over {p.n} runs: from {low:.3g} to {high:.3g} {unit}, "
            "too far apart for a mean to say anything."
        )
    start = f"{what} over {p.n} runs: {mean}."
    most = digits.with_unit(Quantity(p.scatter_high, p.scatter_high, unit))
    if p.consistent:
        return (
            f"{start} The runs agree within their own uncertainties (chi-square "
            f"{p.chi_square:.3g} with {p.n - 1} degrees of freedom); a scatter between them of "
            f"up to {most} cannot be excluded."
        )
    scatter = digits.with_unit(Quantity(p.scatter, p.scatter, unit))
    birge = f"{p.birge:.0f}" if p.birge >= 10.0 else f"{p.birge:.2g}"
    return (
        f"{start} The runs scatter by {scatter} beyond their own uncertainties (Birge ratio "
        f"{birge}): they did not all repeat the same thing, and the uncertainty of the mean "
        "allows for that."
    )
