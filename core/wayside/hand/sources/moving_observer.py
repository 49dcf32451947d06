"""An observer (with the microphone) moving past a source at rest: f = f0 (c ± v)/c."""

from __future__ import annotations

from wayside.hand.fields import Section, Way
from wayside.hand.propagate import Number
from wayside.hand.sources.kind import OBSERVER, Given, Outcome, SourceKind, Work
from wayside.hand.sources.tone import PITCH, implied, source_steps
from wayside.hand.steps import Step, work_out
from wayside.physics.limits import far_limits, observer_from_limits

SECTION = Section(
    "source", "Fixed source, moving observer", (Way("pitch", "pitch at rest", (PITCH,)),)
)


def _solve(given: Given) -> Outcome:
    source = given.x["source.pitch"]
    # seen along the source's axis the observer comes the other way
    approach, recede = far_limits(source, given.backward, given.forward, 0.0, given.speed)
    return Outcome(given.speed, source, given.sound, approach, recede)


def _back_solve(approach: Number, recede: Number, given: Given) -> tuple[Number, Number]:
    return observer_from_limits(approach, recede, given.forward, given.backward)


def _limit_steps(work: Work) -> list[Step]:
    s = work.symbols
    windy = "w" in s
    names = ("f0", "c", "v", "w") if windy else ("f0", "c", "v")
    ahead, behind = ("<c> + <w>", "<c> − <w>") if windy else ("<c>", "<c>")
    return [
        work_out(
            "Pitch heard while the observer approaches, still far away",
            s["fa"],
            f"<f0> × ({behind} + <v>) / ({behind})" if windy else "<f0> × (<c> + <v>) / <c>",
            rf"<f0>\,\frac{{{behind} + <v>}}{{{behind}}}".replace("−", "-"),
            work.pick(*names),
            "the observer runs into the waves, whose length stays c/f₀",
        ),
        work_out(
            "Pitch heard while the observer recedes, far away again",
            s["fr"],
            f"<f0> × ({ahead} − <v>) / ({ahead})" if windy else "<f0> × (<c> − <v>) / <c>",
            rf"<f0>\,\frac{{{ahead} - <v>}}{{{ahead}}}",
            work.pick(*names),
        ),
    ]


KIND = SourceKind(
    "moving-observer",
    "moving observer",
    SECTION,
    OBSERVER,
    "tone",
    _solve,
    source_steps,
    _limit_steps,
    _back_solve,
    implied=implied,
)
