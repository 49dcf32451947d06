"""A loudspeaker whirled on a string: the pitch swings once a turn instead of falling once.

The source circles at ``v = 2 pi r k/t``. Towards a listener at distance R from the centre and
height h above the plane of the circle it moves at most at

    v_m = omega sqrt((A - sqrt(A^2 - B^2))/2),  A = R^2 + r^2 + h^2,  B = 2 R r,

(the largest rate of change of the distance over one turn). In the plane and outside the
circle v_m = v whatever R, reached where the line of sight touches the circle; at the centre
it is zero. There is no far limit, so a straight pass-by's formulas do not apply in time.
"""

from __future__ import annotations

import math

from wayside.hand.fields import Field, Section, Way
from wayside.hand.propagate import Number, as_quantity
from wayside.hand.sources.kind import CIRCLE, Given, Outcome, SourceKind, Values, Work
from wayside.hand.sources.tone import PITCH, source_steps
from wayside.hand.steps import Step, Symbol, work_out
from wayside.hand.units import Dimension

RADIUS = Field(
    "source.circle_radius",
    "radius of the circle",
    "r",
    "r",
    Dimension.LENGTH,
    0.1,
    10.0,
    "Hand to loudspeaker with the string taut. Use two strings, wear a helmet, keep everybody "
    "three radii away, and whirl nothing that could come apart.",
    "m",
)
TURNS = Field(
    "source.turns",
    "turns counted",
    "k",
    "k",
    Dimension.COUNT,
    1.0,
    1000.0,
    "Ten turns or more make the stopwatch count for less.",
    "",
    whole=True,
    exact=True,
)
TURNS_TIME = Field(
    "source.turns_time",
    "time for these turns",
    "t",
    "t",
    Dimension.TIME,
    0.05,
    1000.0,
    "Best read from the film; by stopwatch allow 0.2 s.",
    "s",
)
LISTENER = Field(
    "source.listener_distance",
    "distance of the listener from the centre",
    "R",
    "R",
    Dimension.LENGTH,
    0.2,
    1000.0,
    "Outside the circle it hardly matters how far.",
    "m",
)
HEIGHT = Field(
    "source.listener_height",
    "height of the listener above the circle",
    "h",
    "h",
    Dimension.LENGTH,
    -100.0,
    100.0,
    "Zero when the loudspeaker circles at ear height.",
    "m",
    positive=False,
)
SECTION = Section(
    "source",
    "Loudspeaker whirled on a string",
    (Way("circle", "circle and turns", (PITCH, RADIUS, TURNS, TURNS_TIME, LISTENER)),),
    (HEIGHT,),
)


def circling_speed(x: Values) -> Number:
    """Return the speed on the circle (m/s)."""
    turns = x["source.turns"] / x["source.turns_time"]
    return 2.0 * math.pi * x["source.circle_radius"] * turns


def speed_towards(x: Values) -> Number:
    """Return the largest speed towards the listener in one turn (m/s)."""
    r, far = x["source.circle_radius"], x["source.listener_distance"]
    height = x.get("source.listener_height", 0.0)
    a, b = far * far + r * r + height * height, 2.0 * far * r
    omega = circling_speed(x) / r
    return omega * ((a - (a * a - b * b) ** 0.5) / 2.0) ** 0.5


def _solve(given: Given) -> Outcome:
    source, towards = given.x["source.pitch"], speed_towards(given.x)
    # all sound heard travels from circle to listener, with the wind
    ahead = given.forward
    return Outcome(
        circling_speed(given.x),
        source,
        given.sound,
        source * ahead / (ahead - towards),
        source * ahead / (ahead + towards),
    )


def _check(x: Values, way: str) -> dict[str, str]:
    if x["source.listener_distance"] < 1.2 * x["source.circle_radius"]:
        return {
            "source.listener_distance": "source.listener_distance must be clearly larger than "
            "the circle; stand well outside it."
        }
    return {}


def _source_steps(work: Work) -> list[Step]:
    s, x = work.symbols, work.given.x
    steps = [
        work_out(
            "Speed on the circle",
            s["v"],
            "2π × <circle_radius> × <turns> / <turns_time>",
            r"\frac{2\pi \times <circle_radius> \times <turns>}{<turns_time>}",
            work.pick("circle_radius", "turns", "turns_time"),
        )
    ]
    if "listener_height" in s:
        steps.append(
            work_out(
                "Largest speed towards the listener in a turn",
                _towards(x),
                "<v> × g(<circle_radius>, <listener_distance>, <listener_height>)",
                r"<v>\, g(<circle_radius>, <listener_distance>, <listener_height>)",
                work.pick("v", "circle_radius", "listener_distance", "listener_height"),
                "g² = (A − √(A² − B²))/(2r²) with A = R² + r² + h², B = 2Rr; 1 in the plane",
            )
        )
    else:
        steps.append(
            work_out(
                "Largest speed towards the listener in a turn",
                _towards(x),
                "<v>",
                "<v>",
                work.pick("v"),
                "where the line of sight touches the circle the source comes straight at you, "
                "however far you stand; at the centre you would hear no shift at all",
            )
        )
    return [*steps, *source_steps(work)]


def _towards(x: Values) -> Symbol:
    return Symbol("v_m", r"v_\mathrm{m}", as_quantity(speed_towards(x), "m/s"))


def _limit_steps(work: Work) -> list[Step]:
    s = work.symbols
    windy = "w" in s
    sound = "<c> + <w>" if windy else "<c>"
    over = f"({sound})" if windy else sound
    symbols = {**work.pick("f0", "c", *(("w",) if windy else ())), "vm": _towards(work.given.x)}
    return [
        work_out(
            "Highest pitch in a turn",
            s["fa"],
            f"<f0> × {over} / ({sound} − <vm>)",
            rf"<f0>\,\frac{{{sound}}}{{{sound} - <vm>}}",
            symbols,
            "a source on a straight line falls once from high to low; this one swings every turn",
        ),
        work_out(
            "Lowest pitch in a turn",
            s["fr"],
            f"<f0> × {over} / ({sound} + <vm>)",
            rf"<f0>\,\frac{{{sound}}}{{{sound} + <vm>}}",
            symbols,
        ),
    ]


KIND = SourceKind(
    "whirled",
    "loudspeaker whirled on a string",
    SECTION,
    CIRCLE,
    "tone",
    _solve,
    _source_steps,
    _limit_steps,
    None,
    _check,
)
