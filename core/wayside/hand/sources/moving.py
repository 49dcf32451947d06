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
    ahead, behind = ("(<c> + <w>)", "(<c> − <w>)") if windy else ("<c>", "<c>")
    ahead_tex, behind_tex = ("(<c> + <w>)", "(<c> - <w>)") if windy else ("<c>", "<c>")
    names = ("f0", "c", "v", "w") if windy else ("f0", "c", "v")
    note = "the sound rides with the wind while the source comes" if windy else ""
    return [
        work_out(
            "Pitch heard while the source approaches, still far away",
            s["fa"],
            f"<f0> × {ahead} / ({ahead.strip('()')} − <v>)",
            rf"<f0>\,\frac{{{ahead_tex.strip('()')}}}{{{ahead_tex.strip('()')} - <v>}}",
            work.pick(*names),
            note,
        ),
        work_out(
            "Pitch heard while the source recedes, far away again",
            s["fr"],
            f"<f0> × {behind} / ({behind.strip('()')} + <v>)",
            rf"<f0>\,\frac{{{behind_tex.strip('()')}}}{{{behind_tex.strip('()')} + <v>}}",
            work.pick(*names),
        ),
    ]
