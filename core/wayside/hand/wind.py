"""What wind does: the pitches heard, and the speed worked out by somebody who forgets it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from wayside.hand.model import evaluate
from wayside.hand.predict import Prediction
from wayside.hand.sources.kind import OBSERVER, SOURCE

BREEZE_MPS = 5.0
"""A gentle to moderate breeze, the most in which pass-by sound is measured (ISO 362)."""

ALONG, ACROSS = "air.wind_along", "air.wind_across"


@dataclass(frozen=True)
class WindEffect:
    """The prediction in one wind.

    Parameters
    ----------
    label : str
    along_mps, across_mps : float
        Positive along: from behind.
    approach_hz, recede_hz : float
    both_percent : float or None
        Error of the speed worked out from both pitches as if it were calm (%); None where the
        source does not pass in a straight line.
    one_percent : float or None
        The same from the approach pitch and a known source pitch.
    given : bool
        True for the wind of the set-up.
    """

    label: str
    along_mps: float
    across_mps: float
    approach_hz: float
    recede_hz: float
    both_percent: float | None
    one_percent: float | None
    given: bool


def wind_effects(prediction: Prediction) -> tuple[WindEffect, ...]:
    """Return the prediction in the set-up's wind, in calm air, and in a breeze each way."""
    plain = {i.path: i.value for i in prediction.setup.inputs}
    here = (plain[ALONG], plain[ACROSS])
    cases = [("as in the set-up", *here, True)] if any(here) else []
    cases += [
        ("calm", 0.0, 0.0, not any(here)),
        (f"{BREEZE_MPS:g} m/s from behind", BREEZE_MPS, 0.0, False),
        (f"{BREEZE_MPS:g} m/s from ahead", -BREEZE_MPS, 0.0, False),
        (f"{BREEZE_MPS:g} m/s from the side", 0.0, BREEZE_MPS, False),
    ]
    return tuple(_effect(prediction, plain, *case) for case in cases)


def _effect(
    p: Prediction, plain: dict[str, float], label: str, along: float, across: float, given: bool
) -> WindEffect:
    setup, inputs = p.setup, p.setup.inputs
    windy, outcome = evaluate(setup, {**plain, ALONG: along, ACROSS: across}, inputs)
    approach, recede = float(outcome.approach), float(outcome.recede)
    both = one = None
    if setup.kind.back_solve is not None:
        calm = replace(windy, forward=windy.sound, backward=windy.sound)
        speed, _ = setup.kind.back_solve(approach, recede, calm)
        both = 100.0 * (float(speed) / float(outcome.speed) - 1.0)
        ratio = approach / float(outcome.source)
        shift = {SOURCE: 1.0 - 1.0 / ratio, OBSERVER: ratio - 1.0}.get(setup.kind.mover)
        if shift is not None:
            one = 100.0 * (shift * float(windy.sound) / float(outcome.speed) - 1.0)
    return WindEffect(label, along, across, approach, recede, both, one, given)
