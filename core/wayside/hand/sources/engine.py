"""An engine: the firing frequency, f0 = cylinders x turns per second x 2/strokes.

A four-stroke cylinder fires once in two turns, a two-stroke cylinder once a turn.
"""

from __future__ import annotations

from wayside.hand.fields import Field, Section, Way
from wayside.hand.propagate import Number
from wayside.hand.sources import moving
from wayside.hand.sources.kind import SOURCE, Given, Implied, Outcome, SourceKind, Values, Work
from wayside.hand.steps import Step, work_out
from wayside.hand.units import Dimension

CYLINDERS = Field(
    "source.cylinders",
    "cylinders",
    "Z",
    "Z",
    Dimension.COUNT,
    1.0,
    48.0,
    "Cylinders that share one exhaust; with two separate exhausts the note may be half as high.",
    "",
    whole=True,
    exact=True,
)
STROKES = Field(
    "source.strokes",
    "strokes per cycle",
    "S",
    "S",
    Dimension.COUNT,
    2.0,
    4.0,
    "4 for nearly every car and motorcycle, 2 for many small engines.",
    "",
    whole=True,
    exact=True,
)
ENGINE_SPEED = Field(
    "source.engine_speed",
    "engine speed",
    "R_e",
    r"R_\mathrm{e}",
    Dimension.ROTATION,
    1.0,
    500.0,
    "Held steady through the pass, in one gear; a dial reads to about 2 %.",
    "rpm",
)
SECTION = Section(
    "source",
    "Engine",
    (Way("firing", "cylinders and engine speed", (CYLINDERS, STROKES, ENGINE_SPEED)),),
)


def _firings_per_turn(x: Values) -> Number:
    return 2.0 * x["source.cylinders"] / x["source.strokes"]


def _solve(given: Given) -> Outcome:
    return moving.solve(given, given.x["source.engine_speed"] * _firings_per_turn(given.x))


def _check(x: Values, way: str) -> dict[str, str]:
    if x["source.strokes"] in (2.0, 4.0):
        return {}
    return {"source.strokes": "source.strokes is neither 2 nor 4; give one of them."}


def _source_steps(work: Work) -> list[Step]:
    return [
        work_out(
            "Pitch of the source (firing frequency)",
            work.symbols["f0"],
            "<cylinders> × <engine_speed> × 2 / <strokes>",
            r"<cylinders> \times <engine_speed> \times \frac{2}{<strokes>}",
            work.pick("cylinders", "engine_speed", "strokes"),
            "each cylinder fires once in half as many turns as the cycle has strokes",
        )
    ]


def _implied(x: Values, way: str, speed: Number, source: Number) -> list[Implied]:
    return [
        Implied(
            "source.engine_speed",
            "your engine's speed is then {}",
            source / _firings_per_turn(x),
        )
    ]


KIND = SourceKind(
    "engine",
    "engine",
    SECTION,
    SOURCE,
    "unknown",
    _solve,
    _source_steps,
    moving.limit_steps,
    moving.back_solve,
    _check,
    _implied,
)
