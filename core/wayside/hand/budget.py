"""The uncertainty budget: what each input adds to each result (JCGM 100:2008, 5.1)."""

from __future__ import annotations

from dataclasses import dataclass

from wayside.hand.inputs import Input
from wayside.hand.propagate import Number, sensitivities, u_of


@dataclass(frozen=True)
class BudgetLine:
    """One input's part in one result.

    Parameters
    ----------
    path, label : str
        The input.
    value, u : float
        Best estimate and standard uncertainty, in `unit`.
    unit : str
        The unit the user chose.
    sensitivity : float
        Change of the result per `unit` of the input.
    contribution : float
        ``|sensitivity| u``, in the unit of the result.
    share : float
        Part of the result's variance, 0 to 1.
    assumed : bool
        True when the user did not give the input.
    """

    path: str
    label: str
    value: float
    u: float
    unit: str
    sensitivity: float
    contribution: float
    share: float
    assumed: bool


def budget_of(result: Number, inputs: tuple[Input, ...]) -> tuple[BudgetLine, ...]:
    """Return the budget of one result, largest contribution first.

    Inputs are independent of each other (shared instruments are inputs of their own), so the
    squares of the contributions add up to the square of the result's uncertainty.
    """
    slopes = sensitivities(result)
    variance = u_of(result) ** 2
    lines = [_line(i, slopes[i.path], variance) for i in inputs if slopes.get(i.path)]
    return tuple(sorted(lines, key=lambda line: -line.contribution))


def _line(i: Input, slope: float, variance: float) -> BudgetLine:
    contribution = abs(slope) * i.u
    return BudgetLine(
        i.path,
        i.label,
        i.unit.from_si(i.value),
        i.unit.u_from_si(i.u),
        i.unit.symbol,
        slope * i.unit.factor,
        contribution,
        contribution**2 / variance if variance else 0.0,
        i.assumed,
    )
