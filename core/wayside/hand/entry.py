"""One measured quantity as a person states it: reading, unit, and how well it is known.

Standard uncertainties follow JCGM 100:2008: repeats by their scatter (type A, 4.2), limits
and read-offs by the width of a rectangle or triangle (type B, 4.3.7 and 4.3.9).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean, stdev

NORMAL, RECTANGULAR, TRIANGULAR, STUDENT = "normal", "rectangular", "triangular", "t"
DISTRIBUTIONS = (NORMAL, RECTANGULAR, TRIANGULAR)

_WIDTH_FACTOR = {NORMAL: 1.0, RECTANGULAR: math.sqrt(3.0), TRIANGULAR: math.sqrt(6.0)}


@dataclass(frozen=True)
class Component:
    """One reason why a quantity is not known exactly.

    Parameters
    ----------
    reason : str
        ``"stated"``, ``"read-off"`` or ``"repeats"``.
    u : float
        Standard uncertainty, in the unit of the entry it came from.
    distribution : str
        ``"normal"``, ``"rectangular"``, ``"triangular"`` or ``"t"``.
    dof : float
        Degrees of freedom; inf for type B.
    """

    reason: str
    u: float
    distribution: str
    dof: float = math.inf


@dataclass(frozen=True)
class Entry:
    """A quantity as entered; nothing is converted, so it can be written back unchanged.

    Parameters
    ----------
    value : float or None
        The reading; None when `readings` holds repeats.
    unit : str
        Unit symbol as chosen by the user.
    u : float or None
        Standard uncertainty, same unit.
    half_width : float or None
        Limits instead of `u`: the true value lies within plus or minus this.
    distribution : str or None
        Shape of `u` or `half_width`; None means normal for `u`, rectangular for limits.
    resolution : float or None
        Smallest step of the scale or clock; adds a rectangle of this full width.
    readings : tuple of float
        Repeated readings of the same thing.
    tool : str
        Name of the instrument, if it is shared with other entries; empty if not.
    """

    value: float | None
    unit: str = ""
    u: float | None = None
    half_width: float | None = None
    distribution: str | None = None
    resolution: float | None = None
    readings: tuple[float, ...] = ()
    tool: str = ""

    @property
    def best(self) -> float:
        """Best estimate in the entry's own unit: the reading, or the mean of repeats."""
        return fmean(self.readings) if self.value is None else self.value

    @property
    def components(self) -> tuple[Component, ...]:
        """The separate reasons for uncertainty, in the entry's own unit."""
        parts = []
        if self.u:
            parts.append(Component("stated", self.u, self.distribution or NORMAL))
        if self.half_width:
            shape = self.distribution or RECTANGULAR
            parts.append(Component("stated", self.half_width / _WIDTH_FACTOR[shape], shape))
        if self.resolution:
            parts.append(Component("read-off", self.resolution / math.sqrt(12.0), RECTANGULAR))
        n = len(self.readings)
        if n > 1:
            scatter = stdev(self.readings) / math.sqrt(n)
            if scatter:
                parts.append(Component("repeats", scatter, STUDENT, n - 1.0))
        return tuple(parts)

    @property
    def standard_u(self) -> float:
        """Combined standard uncertainty in the entry's own unit."""
        return math.hypot(*(c.u for c in self.components))

    @property
    def dof(self) -> float:
        """Effective degrees of freedom (Welch-Satterthwaite, JCGM 100:2008, G.4.1)."""
        return effective_dof([(c.u, c.dof) for c in self.components])

    @property
    def has_uncertainty(self) -> bool:
        """Whether anything was said about how well the value is known."""
        stated = (self.u, self.half_width, self.resolution)
        return any(part is not None for part in stated) or len(self.readings) > 1

    def with_best(self, value: float) -> Entry:
        """Return a copy whose best estimate is `value`, with the same uncertainty."""
        if self.value is not None:
            return replace(self, value=value)
        shift = value - self.best
        return replace(self, readings=tuple(r + shift for r in self.readings))


def effective_dof(parts: Sequence[tuple[float, float]]) -> float:
    """Return the effective degrees of freedom of independent parts (u, dof).

    Welch-Satterthwaite, JCGM 100:2008, G.4.1: ``u^4 / sum(u_i^4 / nu_i)``.
    """
    variance = sum(u * u for u, _ in parts)
    inverse = sum((u * u / variance) ** 2 / dof for u, dof in parts) if variance else 0.0
    return 1.0 / inverse if inverse else math.inf


def half_width_of(u: float, distribution: str) -> float:
    """Return the half-width of a rectangle or triangle with standard uncertainty `u`."""
    return u * _WIDTH_FACTOR[distribution]
