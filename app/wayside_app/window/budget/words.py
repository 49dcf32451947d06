"""What the sheet with the uncertainties says in sentences."""

from __future__ import annotations

import math

from PySide6.QtCore import QCoreApplication

from wayside.hand.budget import BudgetLine, coverage_factor
from wayside.hand.predict import RESULTS, Prediction
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.words import said

_MOST = 0.5
_FEW_DOF = 50.0
"""Below this, Student's factor differs visibly from 1.96."""


def result_of(p: Prediction, name: str) -> Quantity:
    """Return one result."""
    quantity = getattr(p, name)
    assert isinstance(quantity, Quantity)
    return quantity


def names_of(p: Prediction) -> list[str]:
    """Return the results that have an uncertainty, in the order of the results table."""
    return [name for name in RESULTS if p.budget.get(name)]


def main_cause(p: Prediction, name: str) -> str:
    """Say what the uncertainty mostly comes from, and what halving that would bring."""
    lines, result = p.budget[name], result_of(p, name)
    first = lines[0]
    better = math.sqrt(max(result.u**2 - 0.75 * first.contribution**2, 0.0))
    now, then = (figures.bare_u(Quantity(0.0, u, result.unit)) for u in (result.u, better))
    share = figures.plain(100.0 * first.share, 0)
    if first.share >= _MOST:
        text = _tr(
            "Most of it, {share} %, comes from the {what}: knowing that twice as well would bring "
            "± {now} down to ± {then}."
        )
    else:
        text = _tr(
            "The largest part, {share} %, comes from the {what}: knowing that twice as well would "
            "bring ± {now} down to ± {then}."
        )
    return text.format(share=share, what=_without_article(name_of(first)), now=now, then=then)


def interval(p: Prediction, name: str) -> str:
    """Say how wide the 95 % interval is and why."""
    result, dof = result_of(p, name), p.dof[name]
    k = coverage_factor(dof)
    wide = figures.bare_u(Quantity(result.value, k * result.u, result.unit))
    if dof < _FEW_DOF:
        return _tr(
            "95 % interval: ± {wide} (k = {k}: with few repeats there are only {dof} effective "
            "degrees of freedom)."
        ).format(wide=wide, k=figures.plain(k, 2), dof=figures.plain(dof, 1))
    return _tr("95 % interval: ± {wide} (k = {k}).").format(wide=wide, k=figures.plain(k, 2))


def sensitivity_text(line: BudgetLine, unit: str) -> str:
    """Write by how much the result changes per unit of an input, e.g. ``−13.1 Hz per cm``."""
    size = figures.local(f"{abs(line.sensitivity):.3g}")
    number = ("−" if line.sensitivity < 0 else "+") + size
    if line.unit:
        return _tr("{number} {unit} per {own}").format(number=number, unit=unit, own=line.unit)
    return f"{number} {unit}"


def name_of(line: BudgetLine) -> str:
    """Return an input's name, marked when it was assumed."""
    name = said(line.label)
    return _tr("{name} (assumed)").format(name=name) if line.assumed else name


def _without_article(name: str) -> str:
    return name.removeprefix("the ")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Budget", text)
