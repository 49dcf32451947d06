"""A number with its standard uncertainty and unit: the shape of every reported result."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Quantity:
    """A value with its standard uncertainty.

    Parameters
    ----------
    value : float
        Best estimate, in `unit`.
    u : float
        Standard uncertainty (one standard deviation, JCGM 100), same unit, >= 0.
        ``math.inf`` when the data do not constrain the quantity.
    unit : str
        Unit symbol, e.g. ``"Hz"``, ``"m/s"``, ``"m"``, ``"s"``; ``""`` for a pure number.
    """

    value: float
    u: float
    unit: str

    def as_json(self) -> dict[str, Any]:
        """Return ``{"value": …, "u": …, "unit": …}``; non-finite numbers become None."""
        return {
            "value": self.value if math.isfinite(self.value) else None,
            "u": self.u if math.isfinite(self.u) else None,
            "unit": self.unit,
        }

    @property
    def relative_u(self) -> float:
        """Standard uncertainty as a fraction of the value's size (inf at value 0)."""
        return self.u / abs(self.value) if self.value else math.inf

    def __str__(self) -> str:
        return format_quantity(self)


def format_quantity(q: Quantity) -> str:
    """Write a quantity with two significant digits of uncertainty, e.g. ``8.47 ± 0.12 m/s``.

    The value is rounded to the same decimal place as its uncertainty (JCGM 100, 7.2.6).
    """
    unit = f" {q.unit}" if q.unit else ""
    if not math.isfinite(q.value):
        return "unknown"
    if not math.isfinite(q.u):
        return f"{q.value:.3g} ± ?{unit}"
    if q.u == 0:
        return f"{q.value:.6g}{unit}"
    places = max(0, 1 - math.floor(math.log10(q.u)))
    if q.u >= 100:
        scale = 10 ** (math.floor(math.log10(q.u)) - 1)
        return f"{round(q.value / scale) * scale:.0f} ± {round(q.u / scale) * scale:.0f}{unit}"
    return f"{q.value:.{places}f} ± {q.u:.{places}f}{unit}"
