"""Source and observer both moving along the track: f = f0 (c ± v_o)/(c ∓ v_s)."""

from __future__ import annotations

from wayside.hand.fields import Field, Section, Way
from wayside.hand.propagate import Number
from wayside.hand.sources.kind import BOTH, Given, Outcome, SourceKind, Work
from wayside.hand.sources.tone import PITCH, implied, source_steps
from wayside.hand.steps import Step, work_out
from wayside.hand.units import Dimension
from wayside.physics.limits import far_limits, source_from_limits

OBSERVER_SPEED = Field(
    "source.observer_speed",
    "speed of the observer",
    "v_o",
    r"v_\mathrm{o}",
    Dimension.SPEED,
    -300.0,
    300.0,
    "Positive when it comes towards the source, negative when it moves the same way.",
    "m/s",
    positive=False,
)
SECTION = Section(
    "source",
    "Source and observer both moving",
    (Way("pitch", "pitch at rest and observer", (PITCH, OBSERVER_SPEED)),),
)


def _solve(given: Given) -> Outcome:
    source, observer = given.x["source.pitch"], given.x["source.observer_speed"]
    approach, recede = far_limits(source, given.forward, given.backward, given.speed, observer)
    return Outcome(given.speed, source, given.sound, approach, recede)


def _back_solve(approach: Number, recede: Number, given: Given) -> tuple[Number, Number]:
    observer = given.x["source.observer_speed"]
    return source_from_limits(approach, recede, given.forward, given.backward, observer)


def _limit_steps(work: Work) -> list[Step]:
    s = work.symbols
    windy = "w" in s
    names = ("f0", "c", "v", "observer_speed", *(("w",) if windy else ()))
    ahead, behind = ("<c> + <w>", "<c> − <w>") if windy else ("<c>", "<c>")
    return [
        work_out(
            "Pitch heard while the two approach, still far apart",
            s["fa"],
            f"<f0> × ({ahead} + <observer_speed>) / ({ahead} − <v>)",
            rf"<f0>\,\frac{{{ahead} + <observer_speed>}}{{{ahead} - <v>}}",
            work.pick(*names),
            "moving source and moving observer enter the formula at different places",
        ),
        work_out(
            "Pitch heard while the two recede, far apart again",
            s["fr"],
            f"<f0> × ({behind} − <observer_speed>) / ({behind} + <v>)",
            rf"<f0>\,\frac{{{behind} - <observer_speed>}}{{{behind} + <v>}}".replace("−", "-"),
            work.pick(*names),
        ),
    ]


KIND = SourceKind(
    "both-moving",
    "source and observer both moving",
    SECTION,
    BOTH,
    "tone",
    _solve,
    source_steps,
    _limit_steps,
    _back_solve,
    implied=implied,
)
