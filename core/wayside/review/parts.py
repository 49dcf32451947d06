"""Which hand measurement moves the difference between sound and hand, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

from wayside.compare.result import Comparison
from wayside.hand.model import evaluate, linear_values
from wayside.hand.predict import results_of
from wayside.hand.propagate import sensitivities

SPLIT = ("speed_mps", "source_hz", "approach_hz", "recede_hz")
"""The quantities whose differences are split."""


@dataclass(frozen=True)
class Part:
    """One input's part in the uncertainty of a difference.

    Parameters
    ----------
    path : str
        The input.
    value, u : float
        As given (SI).
    contribution : float
        Signed change of the difference for one `u`.
    """

    path: str
    value: float
    u: float
    contribution: float


def parts_of(comparison: Comparison) -> dict[str, tuple[Part, ...]]:
    """Return, for each of `SPLIT` that was compared, what every input does to the difference.

    Two runs with the same tape and thermometer share those parts; the rest is their own.
    """
    setup = comparison.prediction.setup
    inputs = setup.inputs
    given, outcome = evaluate(setup, linear_values(inputs), inputs)
    predicted = results_of(setup, given, outcome)
    rows = {r.name: r.measured.value for r in comparison.rows}
    measured: dict[str, object] = {n: x for n, x in rows.items() if n in SPLIT}
    if {"approach_hz", "recede_hz", "speed_mps"} <= rows.keys() and setup.kind.back_solve:
        # the pitches are plain here, so what is left are the inputs both sides share
        speed, source = setup.kind.back_solve(rows["approach_hz"], rows["recede_hz"], given)
        measured |= {"speed_mps": speed, "source_hz": source}
    out = {}
    for name, value in measured.items():
        slopes = sensitivities(value - predicted[name])
        out[name] = tuple(
            Part(i.path, i.value, i.u, slopes[i.path] * i.u)
            for i in inputs
            if i.u > 0 and slopes.get(i.path)
        )
    return out
