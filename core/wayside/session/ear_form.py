"""Two pitches judged by ear, as typed: an outcome to compare with where nothing was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wayside.compare.heard import Heard, heard_by_ear
from wayside.errors import InputError, SetupError
from wayside.hand.fields import Field
from wayside.hand.units import Dimension
from wayside.quantity import Quantity
from wayside.session.session import Session
from wayside.session.typed import usable_entry

APPROACH = Field(
    "heard.approach",
    "approach pitch heard",
    "f_a",
    r"f_\mathrm{a}",
    Dimension.PITCH,
    1.0,
    100_000.0,
    "Match a tone generator or an instrument to what is heard well before the passing; by ear a "
    "steady pitch is matched to about 0.3 %.",
    "Hz",
)
RECEDE = Field(
    "heard.recede",
    "recede pitch heard",
    "f_r",
    r"f_\mathrm{r}",
    Dimension.PITCH,
    1.0,
    100_000.0,
    "The same well after the passing.",
    "Hz",
)
HARMONIC = Field(
    "heard.harmonic",
    "harmonic that was matched",
    "h",
    "h",
    Dimension.COUNT,
    1.0,
    64.0,
    "1 if the pitch itself was matched; 2 if it was the octave above, and so on.",
    "",
    whole=True,
    exact=True,
)
FIELDS = (APPROACH, RECEDE, HARMONIC)


@dataclass(frozen=True)
class EarReading:
    """What was judged by ear.

    Parameters
    ----------
    heard : Heard or None
        None while something is missing or wrong.
    harmonic : int
    faults : mapping of str to str
        One sentence per field path.
    """

    heard: Heard | None
    harmonic: int
    faults: Mapping[str, str]


def read_ear(session: Session) -> EarReading:
    """Read the two pitches; blank fields are no faults."""
    faults: dict[str, str] = {}
    found: dict[str, Quantity] = {}
    for field in FIELDS:
        typed = session.entry(field.path)
        if typed.blank:
            continue
        try:
            entry = usable_entry(field, typed)
        except SetupError as error:
            faults[field.path] = str(error)
            continue
        unit = field.unit_of(entry)
        found[field.path] = Quantity(
            unit.to_si(entry.best), unit.u_to_si(entry.standard_u), field.si_symbol
        )
    harmonic = found.get(HARMONIC.path)
    whole = 1 if harmonic is None else round(harmonic.value)
    approach, recede = found.get(APPROACH.path), found.get(RECEDE.path)
    if faults or approach is None or recede is None:
        return EarReading(None, whole, faults)
    try:
        return EarReading(heard_by_ear(approach, recede), whole, {})
    except InputError as error:
        return EarReading(None, whole, {RECEDE.path: str(error)})
