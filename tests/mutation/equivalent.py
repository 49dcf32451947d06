"""Faults that change nothing that matters, each with the reason.

A reason holds for every fault in the file whose text holds one of the words beside it.
"""

from __future__ import annotations

_NEWTON = "Newton's method with another slope takes more steps to the same root."
_STEP = "Step of a numerical derivative: any small one gives the same slope."
_STOP = "When to stop iterating: the answer is the same to far below its uncertainty."
_GUARD = "A guard against a mistake in the program itself, which no caller makes."
_GRID = "How finely something is scanned; a little finer or coarser finds the same."
_GUESS = "A starting guess, improved afterwards."
_EVEN = "Only an even power of it is used."
_MARGIN = "A margin of a billionth of the field's range, or a millionth of a second."
_EDGE = "The edge itself is never met by a measured number."
_FALSE_ANYWAY = "The comparison left is false as well when the other part is."

REASONS: dict[str, tuple[tuple[str, str], ...]] = {
    "core/wayside/physics/passby.py": (
        ("(tau + r / c - T) / (1.0 + (v + a * tau) * x / (c * r)) -> tau", _NEWTON),
        ("1.0 + (v + a * tau) * x / (c * r) -> 1.0", _NEWTON),
        ("(v + a * tau) * x -> x", _NEWTON),
        ("v + a * tau -> a * tau", _NEWTON),
    ),
    "core/wayside/physics/bands.py": (
        ("constant: 400 -> 401", _GRID),
        ("_STEP * max(", _STEP),
        ("1e-5 -> 2e-05", _STEP),
        ("max(abs(value)", _STEP),
        ("abs(value) -> value", _STEP),
        ("constant: 1.0 -> 2.0", _STEP),
        ("constant: 0.0 -> 1.0 (2)", _STEP),
        ('name == "passing_time_s"', _STEP),
        ("sign or not dropped: -1 -> 1", "The arrays have one dimension, so both name its end."),
    ),
    "core/wayside/compare/joint.py": (
        ("constant: 181 -> 182", _GRID),
        ("constant: True -> False", _GUARD),
        ("len(misses) > 1 -> len(misses) >= 1", "One pitch has one direction; the first is it."),
        ("constant: 1 -> 2 (2)", "The only direction twice."),
    ),
    "core/wayside/compare/compare.py": (("abs(slopes.get(i.path, 0.0)) -> slopes", _EVEN),),
    "core/wayside/compare/explain.py": (
        ("constant: 60 -> 61", _STOP),
        ("free.u or 1e-3 * abs(free.value) or", _STEP),
        ("1e-3 * abs(free.value) -> abs(free.value)", _STEP),
        ("found - x -> found", _STOP),
        ("_CLOSE_ENOUGH * width", _STOP),
        ("1e-9 * abs(x) -> 1e-09", _STEP),
        ("1e-12 * (high - low) -> ", _STEP),
        ("free.field.high + margin", _MARGIN),
        ("1e-9 * max(abs(free.field.low)", _MARGIN),
        ("abs(free.field.high) -> free.field.high", "No field has an upper limit below zero."),
        ('plain["motion.second_time"] - 1e-6', _MARGIN),
        ("constant: 1e-6 -> 2e-06", _MARGIN),
    ),
    "core/wayside/compare/notes.py": (
        ("math.isfinite(a.u) and abs(a.value) > 2.0 * a.u and a.value -> ", _FALSE_ANYWAY),
        ("ahead > 0 -> ahead >= 0", "Nothing is said when it is zero."),
        ("ratio >= 1.0 -> ratio > 1.0", "Nothing is said when it is one."),
        ("abs(miss) > _CLOSE -> abs(miss) >= _CLOSE", _EDGE),
    ),
    "core/wayside/compare/readings.py": (("constant: 201 -> 202", _GRID),),
    "core/wayside/measure/motion.py": (
        ("constant: 5 -> 6", "A column more than is read or written."),
    ),
    "core/wayside/measure/unrest.py": (
        ("constant: 1e12 -> 2", "Any value worse than every likelihood."),
        ("unrest.waver > 0 -> unrest.waver >= 0", "Nothing times a covariance is added."),
        ("unrest.sway > 0 -> unrest.sway >= 0", "Nothing times a covariance is added."),
        ("constant: 0.003 -> 0.006", _GUESS),
        ("constant: 0.03 -> 0.06", _GUESS),
        ("constant: 22 -> 23", _STOP),
        ("constant: 2 -> 3 (12)", _GUESS),
    ),
    "core/wayside/measure/models.py": (
        ("constant: True -> False (5)", "Two ways of following the phase that agree here."),
        ("constant: 4 -> 5 (2)", "One window that spans everything either way."),
    ),
    "core/wayside/measure/incoherent.py": (
        ("constant: 0.01 -> 0.02", _GRID),
        ("constant: True -> False", _GUARD),
        ("constant: 0 -> 1 (3)", "The shape of an array that is not used."),
        ("turn == 0 -> turn != 0", _STOP),
        ("constant: 8 -> 9", _STOP),
        ("np.diag(damping * diagonal)", _STOP),
        ("damping * 0.2 -> 0.2", _STOP),
    ),
}


def reason(file: str, key: str) -> str:
    """Return why a fault changes nothing; ``""`` if it does."""
    return next((why for words, why in REASONS.get(file, ()) if words in key), "")
