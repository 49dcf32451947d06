"""A source of known pitch moving past: buzzer, whistle, horn, loudspeaker."""

from __future__ import annotations

from wayside.hand.fields import Field, Section, Way
from wayside.hand.propagate import Number
from wayside.hand.sources import moving
from wayside.hand.sources.kind import SOURCE, Given, Implied, Outcome, SourceKind, Values, Work
from wayside.hand.steps import Step, take_over
from wayside.hand.units import Dimension

PITCH = Field(
    "source.pitch",
    "pitch of the source at rest",
    "f₀",
    "f_0",
    Dimension.PITCH,
    1.0,
    100_000.0,
    "Record the source standing still next to the microphone and measure that recording; a "
    "number printed on a buzzer or horn may be several per cent off.",
    "Hz",
)
SECTION = Section("source", "Known tone", (Way("pitch", "pitch at rest", (PITCH,)),))


def _solve(given: Given) -> Outcome:
    return moving.solve(given, given.x["source.pitch"])


def source_steps(work: Work) -> list[Step]:
    """Write out the known pitch."""
    return [take_over("Pitch of the source, measured at rest", work.symbols["f0"])]


def implied(x: Values, way: str, speed: Number, source: Number) -> list[Implied]:
    """Return the pitch at rest that the measured pitches would need."""
    return [Implied("source.pitch", "your source's pitch at rest is then {}", source)]


KIND = SourceKind(
    "tone",
    "known tone",
    SECTION,
    SOURCE,
    "tone",
    _solve,
    source_steps,
    moving.limit_steps,
    moving.back_solve,
    implied=implied,
)
