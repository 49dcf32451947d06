"""How many digits to show: as many as the uncertainty supports, never more.

The uncertainty keeps two significant digits and the value ends at the same decimal place
(JCGM 100:2008, 7.2.6); the unrounded value is what is carried on.
"""

from __future__ import annotations

import math

from wayside.quantity import Quantity

MINUS = "−"


def decimals(u: float) -> int:
    """Return the decimal place of the second significant digit of `u` (may be negative)."""
    if not (math.isfinite(u) and u > 0):
        return 0
    place = 1 - math.floor(math.log10(u))
    return place - 1 if round(u, place) >= 10.0 ** (2 - place) else place


def rounded(q: Quantity) -> float:
    """Return the value as it would be shown."""
    if q.u == 0 or not math.isfinite(q.u):
        return float(f"{q.value:.10g}")
    return round(q.value, decimals(q.u))


def number_text(q: Quantity) -> str:
    """Write the value alone with sensible digits, without unit, e.g. ``8.47``."""
    if not math.isfinite(q.value):
        return "unknown"
    if q.u == 0:
        text = f"{q.value:.10g}"
    elif not math.isfinite(q.u):
        text = f"{q.value:.3g}"
    else:
        text = _fixed(q.value, q.u)
    return text.replace("-", MINUS)


def with_unit(q: Quantity) -> str:
    """Write value and unit, e.g. ``8.47 m/s``."""
    return _join(number_text(q), q.unit)


def full_text(q: Quantity) -> str:
    """Write value, standard uncertainty and unit, e.g. ``8.47 ± 0.12 m/s``."""
    if q.u == 0 or not math.isfinite(q.value):
        return with_unit(q)
    spread = "?" if not math.isfinite(q.u) else _fixed(q.u, q.u)
    return _join(f"{number_text(q)} ± {spread}", q.unit)


def between_text(low: float, high: float, u: float) -> str:
    """Write an interval with the digits that `u` supports, e.g. ``8.23 to 8.71``."""
    ends = [_fixed(end, u) if math.isfinite(end) else "?" for end in (low, high)]
    return " to ".join(ends).replace("-", MINUS)


def signed(x: float) -> str:
    """Write a number to three digits with a proper minus sign."""
    return f"{MINUS if x < 0 else ''}{abs(x):.3g}"


def u_text(q: Quantity) -> str:
    """Write the standard uncertainty alone with its unit."""
    return _join(_fixed(q.u, q.u) if q.u and math.isfinite(q.u) else f"{q.u:g}", q.unit)


def unit_latex(unit: str) -> str:
    """Return a unit symbol as LaTeX, with a thin space before it."""
    if not unit:
        return ""
    special = {"%": r"\%", "°C": r"{}^\circ\mathrm{C}", "°F": r"{}^\circ\mathrm{F}"}
    return r"\," + special.get(unit, rf"\mathrm{{{unit}}}")


def with_unit_latex(q: Quantity) -> str:
    """Return value and unit as LaTeX."""
    return number_text(q).replace(MINUS, "-") + unit_latex(q.unit)


def full_latex(q: Quantity) -> str:
    """Return value, standard uncertainty and unit as LaTeX."""
    if q.u == 0 or not (math.isfinite(q.value) and math.isfinite(q.u)):
        return with_unit_latex(q)
    number = number_text(q).replace(MINUS, "-")
    return rf"({number} \pm {_fixed(q.u, q.u)}){unit_latex(q.unit)}"


def _fixed(value: float, u: float) -> str:
    place = decimals(u)
    return f"{round(value, place) + 0.0:.{max(0, place)}f}"


def _join(number: str, unit: str) -> str:
    return f"{number} {unit}".rstrip()
