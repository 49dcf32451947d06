"""A source moving past an observer at rest: formulas and worked steps shared by its kinds."""

from __future__ import annotations

from wayside.hand.propagate import Number
from wayside.hand.sources.kind import Given, Outcome, Work
from wayside.hand.steps import Step, work_out
from wayside.physics.limits import far_limits, source_from_limits


def solve(given: Given, source: Number, cycles_per_metre: Number = None) -> Outcome:
    """Return the outcome for a source of that pitch (Hz) moving at the given speed."""
    approach, recede = far_limits(source, given.forward, given.backward, given.speed, 0.0)
    return Outcome(given.speed, source, given.sound, approach, recede, cycles_per_metre)


def back_solve(approach: Number, recede: Number, given: Given) -> tuple[Number, Number]:
    """Return speed (m/s) and source pitch (Hz) from the two far pitches (Hz)."""
    return source_from_limits(approach, recede, given.forward, given.backward, 0.0)


def limit_steps(work: Work) -> list[Step]:
    """Write out the approach and recede pitches."""
    s = work.symbols
    windy = "w" in s
    names = ("f0", "c", "v", "w") if windy else ("f0", "c", "v")
    ahead, behind = ("<c> + <w>", "<c> − <w>") if windy else ("<c>", "<c>")
    over_ahead, over_behind = (f"({ahead})", f"({behind})") if windy else (ahead, behind)
    return [
        work_out(
            "Pitch heard while the source approaches, still far away",
            s["fa"],
            f"<f0> × {over_ahead} / ({ahead} − <v>)",
            rf"<f0>\,\frac{{{ahead}}}{{{ahead} - <v>}}",
            work.pick(*names),
            "the sound rides with the wind while the source comes" if windy else "",
        ),
        work_out(
            "Pitch heard while the source recedes, far away again",
            s["fr"],
            f"<f0> × {over_behind} / ({behind} + <v>)",
            rf"<f0>\,\frac{{{behind}}}{{{behind} + <v>}}".replace("−", "-"),
            work.pick(*names),
        ),
    ]
