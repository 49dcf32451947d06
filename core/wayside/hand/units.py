"""The units people measure in, and how each turns into SI.

A value converts as ``si = value * factor + offset``; an uncertainty is a difference, so it
converts with the factor alone (JCGM 100:2008, 5.1.3). Inch, foot, yard and mile are exact
(international yard and pound agreement of 1959; NIST SP 811, appendix B).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import Enum

from wayside.errors import InputError

_TYPED = re.compile(r"(?P<number>[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?)\s*(?P<unit>\D.*)?")


class Dimension(Enum):
    """What kind of thing a field measures."""

    LENGTH = "length"
    TIME = "time"
    SPEED = "speed"
    PITCH = "frequency"
    ROTATION = "rate of rotation"
    FRAME = "frame number"
    FRAME_RATE = "frame rate"
    TEMPERATURE = "temperature"
    PRESSURE = "pressure"
    FRACTION = "fraction"
    COUNT = "count"


@dataclass(frozen=True)
class Unit:
    """One unit.

    Parameters
    ----------
    symbol : str
        As written in set-up files and on screen; ``""`` for a pure number.
    dimension : Dimension
    factor, offset : float
        ``si = value * factor + offset``.
    rule : str
        The conversion as a person writes it, with ``#`` for the number; empty if trivial.
    """

    symbol: str
    dimension: Dimension
    factor: float
    offset: float = 0.0
    rule: str = ""

    def to_si(self, value: float) -> float:
        """Return the value in the SI unit of the dimension."""
        return value * self.factor + self.offset

    def from_si(self, si: float) -> float:
        """Return an SI value in this unit."""
        return (si - self.offset) / self.factor

    def u_to_si(self, u: float) -> float:
        """Return an uncertainty (a difference) in the SI unit."""
        return u * self.factor

    def u_from_si(self, u: float) -> float:
        """Return an SI uncertainty in this unit."""
        return u / self.factor


_D = Dimension

SI_SYMBOL: dict[Dimension, str] = {
    _D.LENGTH: "m",
    _D.TIME: "s",
    _D.SPEED: "m/s",
    _D.PITCH: "Hz",
    _D.ROTATION: "rev/s",
    _D.FRAME: "",
    _D.FRAME_RATE: "frames/s",
    _D.TEMPERATURE: "°C",
    _D.PRESSURE: "Pa",
    _D.FRACTION: "",
    _D.COUNT: "",
}
"""Unit used inside; temperature stays in °C (the air formulas take it so)."""

_ALL = (
    Unit("m", _D.LENGTH, 1.0),
    Unit("cm", _D.LENGTH, 0.01, rule="# × 0.01"),
    Unit("mm", _D.LENGTH, 0.001, rule="# × 0.001"),
    Unit("km", _D.LENGTH, 1000.0, rule="# × 1000"),
    Unit("in", _D.LENGTH, 0.0254, rule="# × 0.0254"),
    Unit("ft", _D.LENGTH, 0.3048, rule="# × 0.3048"),
    Unit("yd", _D.LENGTH, 0.9144, rule="# × 0.9144"),
    Unit("s", _D.TIME, 1.0),
    Unit("ms", _D.TIME, 0.001, rule="# / 1000"),
    Unit("min", _D.TIME, 60.0, rule="# × 60"),
    Unit("m/s", _D.SPEED, 1.0),
    Unit("km/h", _D.SPEED, 1.0 / 3.6, rule="# / 3.6"),
    Unit("mph", _D.SPEED, 0.44704, rule="# × 0.44704"),
    Unit("Hz", _D.PITCH, 1.0),
    Unit("kHz", _D.PITCH, 1000.0, rule="# × 1000"),
    Unit("rev/s", _D.ROTATION, 1.0),
    Unit("rpm", _D.ROTATION, 1.0 / 60.0, rule="# / 60"),
    Unit("frames", _D.FRAME, 1.0),
    Unit("", _D.FRAME, 1.0),
    Unit("frames/s", _D.FRAME_RATE, 1.0),
    Unit("Hz", _D.FRAME_RATE, 1.0),
    Unit("°C", _D.TEMPERATURE, 1.0),
    Unit("°F", _D.TEMPERATURE, 1.0 / 1.8, -32.0 / 1.8, rule="(# − 32) / 1.8"),
    Unit("K", _D.TEMPERATURE, 1.0, -273.15, rule="# − 273.15"),
    Unit("Pa", _D.PRESSURE, 1.0),
    Unit("hPa", _D.PRESSURE, 100.0, rule="# × 100"),
    Unit("kPa", _D.PRESSURE, 1000.0, rule="# × 1000"),
    Unit("%", _D.FRACTION, 0.01, rule="# / 100"),
    Unit("ppm", _D.FRACTION, 1e-6, rule="# / 1000000"),
    Unit("", _D.FRACTION, 1.0),
    Unit("", _D.COUNT, 1.0),
)

_ALIASES = {"degC": "°C", "C": "°C", "degF": "°F", "F": "°F", "fps": "frames/s", "1/s": "Hz"}

_BY_DIMENSION: dict[Dimension, dict[str, Unit]] = {
    d: {u.symbol: u for u in _ALL if u.dimension is d} for d in Dimension
}


def units_of(dimension: Dimension) -> tuple[Unit, ...]:
    """Return the units a dimension may be given in, the usual one first."""
    return tuple(_BY_DIMENSION[dimension].values())


def find_unit(dimension: Dimension, symbol: str) -> Unit | None:
    """Return the unit of that symbol, or None if the dimension has no such unit."""
    table = _BY_DIMENSION[dimension]
    return table.get(symbol) or table.get(_ALIASES.get(symbol, ""))


def read_si(text: str, dimension: Dimension, what: str) -> float:
    """Return a typed quantity such as ``22 km/h`` in SI; a bare number is in SI already.

    Raises
    ------
    InputError
        If it is no number, or the unit does not fit; `what` names it in the sentence.
    """
    match = _TYPED.fullmatch(text.strip().replace("−", "-"))
    unit = find_unit(dimension, match["unit"] or SI_SYMBOL[dimension]) if match else None
    if match is None or unit is None:
        known = ", ".join(u.symbol for u in units_of(dimension) if u.symbol)
        raise InputError(f'{what} is "{text}"; give a number, with or without a unit ({known}).')
    value = unit.to_si(float(match["number"]))
    if not math.isfinite(value):
        raise InputError(f'{what} is "{text}", which is far too large.')
    return value
