"""A siren disk: a ring of holes turning past an air jet, f0 = holes x turns per second."""

from __future__ import annotations

from wayside.hand.fields import Field, Section, Way
from wayside.hand.propagate import Number
from wayside.hand.sources import moving
from wayside.hand.sources.kind import SOURCE, Given, Implied, Outcome, SourceKind, Values, Work
from wayside.hand.steps import Step, work_out
from wayside.hand.units import Dimension

HOLES = Field(
    "source.holes",
    "holes in the ring",
    "H",
    "H",
    Dimension.COUNT,
    1.0,
    1000.0,
    "Count the ring that is blown; several rings give several tones at once.",
    "",
    whole=True,
    exact=True,
)
TURN_RATE = Field(
    "source.turn_rate",
    "turns of the disk",
    "R_t",
    r"R_\mathrm{t}",
    Dimension.ROTATION,
    0.1,
    1000.0,
    "Read it with a strobe or a tachometer while the disk is blown; the jet slows the disk.",
    "rev/s",
)
SECTION = Section("source", "Siren disk", (Way("holes", "holes and turns", (HOLES, TURN_RATE)),))


def _solve(given: Given) -> Outcome:
    return moving.solve(given, given.x["source.holes"] * given.x["source.turn_rate"])


def _source_steps(work: Work) -> list[Step]:
    return [
        work_out(
            "Pitch of the source",
            work.symbols["f0"],
            "<holes> × <turn_rate>",
            r"<holes> \times <turn_rate>",
            work.pick("holes", "turn_rate"),
            "each hole lets one puff of air through per turn",
        )
    ]


def _implied(x: Values, way: str, speed: Number, source: Number) -> list[Implied]:
    return [
        Implied(
            "source.turn_rate",
            "your disk's turns are then {}",
            source / x["source.holes"],
        )
    ]


KIND = SourceKind(
    "siren-disk",
    "siren disk",
    SECTION,
    SOURCE,
    "tone",
    _solve,
    _source_steps,
    moving.limit_steps,
    moving.back_solve,
    implied=_implied,
)
