"""The inputs of a prediction: what was entered, what was assumed, and the formula's own error."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wayside.hand import sections
from wayside.hand.entry import NORMAL, RECTANGULAR, Component, Entry, effective_dof
from wayside.hand.fields import Field
from wayside.hand.units import Dimension, Unit, find_unit
from wayside.physics.air import HUMID_AIR, model_uncertainty

if TYPE_CHECKING:
    from wayside.hand.setup import Draft

FORMULA_ERROR = Field(
    "air.formula_error",
    "the sound-speed formula itself",
    "δc",
    r"\delta c",
    Dimension.SPEED,
    -100.0,
    100.0,
    "What the formula leaves out; humid air is the closest of the three.",
    "m/s",
    positive=False,
)
TOOL_SCALE = Field(
    "tools",
    "scale of a shared instrument",
    "ε",
    r"\varepsilon",
    Dimension.FRACTION,
    -0.2,
    0.2,
    "By how much the instrument may read too long or too short everywhere alike; a school tape "
    "is good to about 0.1 %.",
    "%",
    positive=False,
)

_ASSUMED: dict[str, tuple[Field, Entry, str]] = {
    f.path: (f, entry, sentence)
    for f, entry, sentence in (
        (
            sections.HUMIDITY,
            Entry(50.0, "%", half_width=50.0),
            "No humidity was given: anything from 0 to 100 % is taken as equally likely.",
        ),
        (
            sections.PRESSURE,
            Entry(101_325.0, "Pa", u=3000.0),
            "No air pressure was given: 101.3 ± 3.0 kPa is assumed.",
        ),
        (sections.CO2, Entry(420.0, "ppm", u=200.0), ""),
        (
            sections.WIND_ALONG,
            Entry(0.0, "m/s", u=1.0),
            "No wind was given: calm air is assumed, 0 ± 1 m/s along the track.",
        ),
        (sections.WIND_ACROSS, Entry(0.0, "m/s", u=0.0), ""),
    )
}

_ONLY_HUMID = {sections.HUMIDITY.path, sections.PRESSURE.path, sections.CO2.path}


@dataclass(frozen=True)
class Input:
    """One input in SI, with the unit it is shown in.

    Parameters
    ----------
    path : str
        Dotted path.
    field : Field
        Its description.
    unit : Unit
        The unit the user chose.
    value, u : float
        Best estimate and standard uncertainty, SI.
    components : tuple of Component
        The separate reasons, SI.
    tool : str
        Shared instrument; empty if none.
    assumed : bool
        True when the user did not give it.
    readings : tuple of float
        Repeated readings, in `unit`; empty if it was read once.
    """

    path: str
    field: Field
    unit: Unit
    value: float
    u: float
    components: tuple[Component, ...]
    tool: str = ""
    assumed: bool = False
    readings: tuple[float, ...] = ()

    @property
    def dof(self) -> float:
        """Effective degrees of freedom (Welch-Satterthwaite, JCGM 100:2008, G.4.1)."""
        return effective_dof([(c.u, c.dof) for c in self.components])

    @property
    def label(self) -> str:
        """Name for people."""
        return self.field.label


def inputs_of(draft: Draft, fields: dict[str, Field]) -> tuple[Input, ...]:
    """Return every input of a set-up: entered, assumed, instruments, and the formula's error."""
    entered = [_from_entry(fields[path], entry) for path, entry in draft.entries.items()]
    assumed = [
        _from_entry(field, entry, assumed=True)
        for path, (field, entry, _) in _ASSUMED.items()
        if path not in draft.entries
    ]
    tools = [_from_entry(tool_field(name), entry) for name, entry in draft.tools.items()]
    temperature = fields[sections.TEMPERATURE.path].si(draft.entries[sections.TEMPERATURE.path])
    return (*entered, *assumed, *tools, _formula_error(draft.formula, temperature))


def assumptions(draft: Draft) -> tuple[str, ...]:
    """Return one sentence on every assumption that matters with the chosen formula."""
    return tuple(
        sentence
        for path, (_, _, sentence) in _ASSUMED.items()
        if path not in draft.entries
        and sentence
        and (draft.formula == HUMID_AIR or path not in _ONLY_HUMID)
    )


def tool_field(name: str) -> Field:
    """Return the field of a shared instrument's scale error."""
    return replace(TOOL_SCALE, path=f"tools.{name}", label=f"scale of {name}")


def _from_entry(field: Field, entry: Entry, assumed: bool = False) -> Input:
    unit = field.unit_of(entry)
    parts = tuple(replace(c, u=unit.u_to_si(c.u)) for c in entry.components)
    total = math.hypot(*(c.u for c in parts))
    return Input(
        field.path,
        field,
        unit,
        unit.to_si(entry.best),
        total,
        parts,
        entry.tool,
        assumed,
        entry.readings,
    )


def _formula_error(formula: str, temp_c: float) -> Input:
    u = model_uncertainty(formula, temp_c)
    shape = NORMAL if formula == HUMID_AIR else RECTANGULAR
    unit = find_unit(Dimension.SPEED, "m/s")
    assert unit is not None
    return Input(
        FORMULA_ERROR.path,
        FORMULA_ERROR,
        unit,
        0.0,
        u,
        (Component("stated", u, shape),),
        assumed=True,
    )
