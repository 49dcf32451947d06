"""How far apart two passes lie in their far pitches, as intervals in cents."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wayside.compare.result import Comparison, Row
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside.review.aligned import CENTS


@dataclass(frozen=True)
class FarApart:
    """First over second, before and after the passing.

    Parameters
    ----------
    approach, recede : Quantity or None
        Interval in cents, positive when the first is higher; None where a side is silent.
    """

    approach: Quantity | None
    recede: Quantity | None


def run_from_hand(comparison: Comparison) -> FarApart:
    """Return by how much the sound lies above the hand; what both rest on is counted once."""
    return FarApart(*(_row_cents(comparison.row(n)) for n in ("approach_hz", "recede_hz")))


def run_from_run(first: Measurement, second: Measurement) -> FarApart:
    """Return by how much one run lies above another.

    The two are taken as independent; the clock of a recorder they share would only make the
    uncertainty smaller.
    """
    one, other = first.fit, second.fit
    if one is None or other is None:
        return FarApart(None, None)
    return FarApart(
        interval(one.approach_hz, other.approach_hz), interval(one.recede_hz, other.recede_hz)
    )


def interval(a: Quantity, b: Quantity) -> Quantity | None:
    """Return the interval from pitch `b` up to pitch `a` (cents), independent of each other."""
    if not (a.value > 0 and b.value > 0 and math.isfinite(a.u) and math.isfinite(b.u)):
        return None
    u = CENTS * math.hypot(a.relative_u, b.relative_u)
    return Quantity(CENTS * math.log(a.value / b.value), u, "cents")


def _row_cents(row: Row | None) -> Quantity | None:
    if row is None or row.cents is None or not math.isfinite(row.difference.u):
        return None
    return Quantity(row.cents, CENTS * row.difference.u / row.measured.value, "cents")
