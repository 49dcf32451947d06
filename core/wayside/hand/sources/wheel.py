"""A pattern on a rolling wheel (treads, studs, a card in the spokes): pitch follows speed.

One pattern element passes the ground every ``2 pi r / N`` of track, r being the radius under
load; so n = N/(2 pi r) per metre, or n = N k/L from a roll-out of k turns over the length L,
and f0 = v n.
"""

from __future__ import annotations

import math

from wayside.hand.fields import Field, Section, Way
from wayside.hand.propagate import Number
from wayside.hand.sources import moving
from wayside.hand.sources.kind import SOURCE, Given, Implied, Outcome, SourceKind, Values, Work
from wayside.hand.steps import Step, work_out
from wayside.hand.units import Dimension

COUNT = Field(
    "source.count",
    "pattern elements per wheel turn",
    "N",
    "N",
    Dimension.COUNT,
    1.0,
    2000.0,
    "Chalk the first one and count twice round; if the two counts differ, count again.",
    "",
    whole=True,
    exact=True,
)
LOADED_RADIUS = Field(
    "source.loaded_radius",
    "loaded wheel radius",
    "r",
    "r",
    Dimension.LENGTH,
    0.02,
    2.0,
    "Axle to ground with the rider on. The tyre rolls on a slightly larger radius than this, so "
    "give it half a centimetre of uncertainty, or measure a roll-out instead.",
    "cm",
)
NOMINAL_DIAMETER = Field(
    "source.nominal_diameter",
    "nominal wheel diameter",
    "d_n",
    r"d_\mathrm{n}",
    Dimension.LENGTH,
    0.04,
    4.0,
    "The size printed on the tyre is a name, not a measurement; tape the unloaded diameter.",
    "in",
)
BEAD_DIAMETER = Field(
    "source.bead_diameter",
    "bead-seat diameter marked on the tyre",
    "b",
    "b",
    Dimension.LENGTH,
    0.04,
    2.0,
    "The second number of the size mark on the side wall (for example 559 in 47-559), in "
    "millimetres.",
    "mm",
)
TYRE_WIDTH = Field(
    "source.tyre_width",
    "tyre width marked on the tyre",
    "y",
    "y",
    Dimension.LENGTH,
    0.01,
    0.3,
    "The first number of the size mark (for example 47 in 47-559), in millimetres; a mounted "
    "tyre may differ by 2 mm.",
    "mm",
)
SQUASH = Field(
    "source.squash",
    "squash under load",
    "q",
    "q",
    Dimension.LENGTH,
    0.0,
    0.2,
    "How far the axle sinks when the rider sits on; about half an inch (12 mm) for a soft "
    "tyre, less for a hard one.",
    "in",
    positive=False,
)
ROLLOUT = Field(
    "source.rollout",
    "roll-out distance",
    "L",
    "L",
    Dimension.LENGTH,
    0.1,
    1000.0,
    "Mark tyre and ground, roll straight with the rider on for several whole turns, mark again "
    "and tape between the marks: the best way to size a wheel.",
    "m",
)
ROLLOUT_TURNS = Field(
    "source.rollout_turns",
    "wheel turns of the roll-out",
    "k",
    "k",
    Dimension.COUNT,
    1.0,
    1000.0,
    "Whole turns; more turns make the tape's uncertainty count for less.",
    "",
    whole=True,
    exact=True,
)
SECTION = Section(
    "source",
    "Pattern on a wheel",
    (
        Way("loaded-radius", "loaded radius", (COUNT, LOADED_RADIUS)),
        Way("nominal-size", "nominal size and squash", (COUNT, NOMINAL_DIAMETER, SQUASH)),
        Way("marked-size", "size mark and squash", (COUNT, BEAD_DIAMETER, TYRE_WIDTH, SQUASH)),
        Way("roll-out", "roll-out", (COUNT, ROLLOUT, ROLLOUT_TURNS)),
    ),
)


def radius(x: Values, way: str) -> Number:
    """Return the rolling radius (m)."""
    if way == "loaded-radius":
        return x["source.loaded_radius"]
    if way == "nominal-size":
        return x["source.nominal_diameter"] / 2.0 - x["source.squash"]
    if way == "marked-size":
        return x["source.bead_diameter"] / 2.0 + x["source.tyre_width"] - x["source.squash"]
    return x["source.rollout"] / x["source.rollout_turns"] / (2.0 * math.pi)


def cycles_per_metre(x: Values, way: str) -> Number:
    """Return the pattern elements per metre of track (1/m)."""
    return x["source.count"] / (2.0 * math.pi * radius(x, way))


def _solve(given: Given) -> Outcome:
    n = cycles_per_metre(given.x, given.way)
    return moving.solve(given, given.speed * n, n)


def _check(x: Values, way: str) -> dict[str, str]:
    if radius(x, way) <= 0:
        return {
            "source.squash": "source.squash is larger than the wheel's radius; "
            "give how far the axle sinks under load."
        }
    return {}


def _source_steps(work: Work) -> list[Step]:
    s = work.symbols
    steps = []
    if work.given.way == "nominal-size":
        steps.append(
            work_out(
                "Loaded wheel radius",
                s["r"],
                "<nominal_diameter> / 2 − <squash>",
                r"\frac{<nominal_diameter>}{2} - <squash>",
                work.pick("nominal_diameter", "squash"),
            )
        )
    if work.given.way == "marked-size":
        steps.append(
            work_out(
                "Loaded wheel radius",
                s["r"],
                "<bead_diameter> / 2 + <tyre_width> − <squash>",
                r"\frac{<bead_diameter>}{2} + <tyre_width> - <squash>",
                work.pick("bead_diameter", "tyre_width", "squash"),
                "a tyre is taken to be as high as it is wide",
            )
        )
    if work.given.way == "roll-out":
        steps.append(
            work_out(
                "Pattern elements per metre of track",
                s["n"],
                "<count> × <rollout_turns> / <rollout>",
                r"\frac{<count> \times <rollout_turns>}{<rollout>}",
                work.pick("count", "rollout_turns", "rollout"),
            )
        )
    else:
        steps.append(
            work_out(
                "Pattern elements per metre of track",
                s["n"],
                "<count> / (2π × <r>)",
                r"\frac{<count>}{2\pi \times <r>}",
                work.pick("count", "r"),
            )
        )
    steps.append(
        work_out(
            "Pitch of the source",
            s["f0"],
            "<v> × <n>",
            r"<v> \times <n>",
            work.pick("v", "n"),
            "each pattern element on the ground makes one cycle of the hum",
        )
    )
    return steps


def _implied(x: Values, way: str, speed: Number, source: Number) -> list[Implied]:
    turn = speed / source * x["source.count"]
    rolled = turn / (2.0 * math.pi)
    if way == "roll-out":
        return [
            Implied(
                "source.rollout",
                "your wheel's roll-out over the same turns is then {}",
                turn * x["source.rollout_turns"],
            ),
        ]
    if way in ("nominal-size", "marked-size"):
        unloaded = radius(x, way) + x["source.squash"]
        return [
            Implied("source.loaded_radius", "your wheel's effective radius is then {}", rolled),
            Implied(
                "source.squash",
                "the squash under load is then {}",
                unloaded - rolled,
            ),
        ]
    return [Implied("source.loaded_radius", "your wheel's effective radius is then {}", rolled)]


KIND = SourceKind(
    "wheel",
    "pattern on a wheel",
    SECTION,
    SOURCE,
    "wheel",
    _solve,
    _source_steps,
    moving.limit_steps,
    moving.back_solve,
    _check,
    _implied,
)
