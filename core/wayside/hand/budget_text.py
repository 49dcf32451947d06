"""Uncertainty budgets as plain text: shares, the full table, and sampling beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from wayside.hand import digits
from wayside.hand.budget import BudgetLine, coverage_factor
from wayside.hand.monte_carlo import MonteCarlo
from wayside.hand.predict import RESULTS, Prediction
from wayside.hand.tables import table
from wayside.quantity import Quantity

MAIN = ("speed_mps", "source_hz", "approach_hz", "recede_hz")


def shares_text(p: Prediction) -> str:
    """Return what each input adds to the main results, largest first, in one line each."""
    lines = ["What the uncertainty is made of (share of the variance)"]
    for name in MAIN:
        parts = [
            f"{_name(line)} {100 * line.share:.0f} %"
            for line in p.budget[name]
            if line.share >= 0.005
        ]
        if parts:
            lines.append(f"    {RESULTS[name][0]}: {', '.join(parts)}")
    return "\n".join(lines) if len(lines) > 1 else ""


def full_budget_text(p: Prediction, names: Sequence[str] = MAIN) -> str:
    """Return the full budget of some results: sensitivity, contribution and share."""
    return "\n\n".join(_one_budget(p, name) for name in names if p.budget.get(name))


def sampled_text(m: MonteCarlo) -> str:
    """Return linear propagation and sampling side by side."""
    rows = [("", "linear", "95 % interval", "sampled", "95 % interval", "shortest 95 %", "")]
    for s in m.results.values():
        place = Quantity(0.0, s.u, s.unit)
        rows.append(
            (
                s.label,
                digits.full_text(Quantity(0.5 * (s.linear_low + s.linear_high), s.u, s.unit)),
                _span(s.linear_low, s.linear_high, place),
                digits.full_text(Quantity(s.mean, s.u, s.unit)),
                _span(s.low, s.high, place),
                _span(s.shortest_low, s.shortest_high, place),
                "same" if s.agrees else "differ",
            )
        )
    head = f"Linear propagation and sampling side by side ({m.draws} draws)"
    return "\n".join([head, *table(rows), *(f"    {note}" for note in m.notes)])


def _one_budget(p: Prediction, name: str) -> str:
    label, unit = RESULTS[name]
    result: Quantity = getattr(p, name)
    rows: list[tuple[str, ...]] = [
        ("", "value", "u", "sensitivity", f"contribution ({unit})", "share")
    ]
    for line in p.budget[name]:
        own = Quantity(line.value, line.u, line.unit)
        per = f" per {line.unit}" if line.unit else ""
        rows.append(
            (
                _name(line),
                digits.with_unit(own),
                digits.u_text(own),
                f"{digits.signed(line.sensitivity)} {unit}{per}",
                f"{line.contribution:.2g}",
                f"{100 * line.share:.1f} %",
            )
        )
    dof = p.dof[name]
    k = coverage_factor(dof)
    wide = Quantity(result.value, k * result.u, unit)
    degrees = f"{dof:.0f} degrees of freedom" if math.isfinite(dof) else "no repeats limit it"
    return "\n".join(
        [
            f"Budget of the {label}: {digits.full_text(result)}",
            *table(rows),
            f"    95 % interval: ± {digits.u_text(wide)} (k = {k:.2f}, {degrees})",
        ]
    )


def _name(line: BudgetLine) -> str:
    return f"{line.label}{' (assumed)' if line.assumed else ''}"


def _span(low: float, high: float, place: Quantity) -> str:
    ends = (digits.number_text(Quantity(x, place.u, place.unit)) for x in (low, high))
    return " to ".join(ends)
