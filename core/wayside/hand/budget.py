"""The uncertainty budget: what each input adds to each result (JCGM 100:2008, 5.1)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtri, stdtrit

from wayside.hand.entry import effective_dof
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
    dof : float
        Degrees of freedom of the input; inf unless it was repeated.
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
    dof: float


def budget_of(result: Number, inputs: tuple[Input, ...]) -> tuple[BudgetLine, ...]:
    """Return the budget of one result, largest contribution first.

    Inputs are independent of each other (shared instruments are inputs of their own), so the
    squares of the contributions add up to the square of the result's uncertainty.
    """
    slopes = sensitivities(result)
    variance = u_of(result) ** 2
    lines = [_line(i, slopes[i.path], variance) for i in inputs if slopes.get(i.path)]
    return tuple(sorted(lines, key=lambda line: -line.contribution))


def dof_of(lines: tuple[BudgetLine, ...]) -> float:
    """Return a result's effective degrees of freedom (JCGM 100:2008, G.4.1)."""
    return effective_dof([(line.contribution, line.dof) for line in lines])


def coverage_factor(dof: float) -> float:
    """Return the factor for a 95 % interval: Student's t (JCGM 100:2008, G.3), 1.96 at best."""
    return float(stdtrit(dof, 0.975)) if math.isfinite(dof) else float(ndtri(0.975))


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
        i.dof,
    )
