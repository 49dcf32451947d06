"""What the uncertainty of the prediction is made of."""

from __future__ import annotations

import math

from wayside.hand import digits
from wayside.hand.budget import BudgetLine, coverage_factor
from wayside.hand.budget_text import MAIN
from wayside.hand.predict import RESULTS, Prediction
from wayside.quantity import Quantity
from wayside.report.blocks import HAND, Block, Para, Section, Table

LEAST = 5e-4
"""Smallest share of the variance that gets a line of its own."""


def budget_section(p: Prediction, key: str = "how-sure") -> Section:
    """Return the budget of each main result."""
    blocks: list[Block] = [
        Para(
            "Each line says by how much one entry, being off by its standard uncertainty, moves "
            "the result; shares are of the variance and add up to 100 % (JCGM 100:2008, 5.1)."
        )
    ]
    for name in MAIN:
        if p.budget.get(name):
            blocks += [_table(p, name), Para(_interval(p, name))]
    return Section(key, "How sure the prediction is", tuple(blocks))


def _table(p: Prediction, name: str) -> Table:
    label, unit = RESULTS[name]
    result: Quantity = getattr(p, name)
    return Table(
        f"Budget of the {label}: {digits.full_text(result)}",
        ("entry", "value", "u", "sensitivity", f"contribution ({unit})", "share"),
        (*(_line(line, unit) for line in p.budget[name] if line.share >= LEAST), *_others(p, name)),
        ("", HAND, HAND),
    )


def _line(line: BudgetLine, unit: str) -> tuple[str, ...]:
    own = Quantity(line.value, line.u, line.unit)
    per = f" per {line.unit}" if line.unit else ""
    return (
        f"{line.label}{' (assumed)' if line.assumed else ''}",
        digits.with_unit(own),
        digits.u_text(own),
        f"{digits.signed(line.sensitivity)} {unit}{per}",
        f"{line.contribution:.2g}",
        f"{100 * line.share:.1f} %",
    )


def _others(p: Prediction, name: str) -> list[tuple[str, ...]]:
    """Return one row for all entries too small to list."""
    small = [line for line in p.budget[name] if line.share < LEAST]
    if not small:
        return []
    together = math.hypot(*(line.contribution for line in small))
    share = sum(line.share for line in small)
    label = f"{len(small)} more, together" if len(small) > 1 else small[0].label
    return [(label, "", "", "", f"{together:.2g}", f"{100 * share:.2f} %")]


def _interval(p: Prediction, name: str) -> str:
    result: Quantity = getattr(p, name)
    dof = p.dof[name]
    k = coverage_factor(dof)
    wide = Quantity(result.value, k * result.u, result.unit)
    degrees = f"{dof:.0f} degrees of freedom" if math.isfinite(dof) else "no repeats limit it"
    label = RESULTS[name][0].capitalize()
    return f"{label}, 95 % interval: ± {digits.u_text(wide)} (k = {k:.2f}, {degrees})."
