"""Which bars the pitch ladder carries."""

from __future__ import annotations

from wayside.hand.predict import Prediction
from wayside.measure.result import Fit
from wayside_app.window.plot.ladder import HAND_RAIL, SOUND_RAIL, Rung


def rungs(prediction: Prediction | None, fit: Fit | None) -> list[Rung]:
    """Return approach and recede bars of whichever witness has spoken."""
    bars: list[Rung] = []
    for rail, witness in ((HAND_RAIL, prediction), (SOUND_RAIL, fit)):
        if witness is not None:
            bars.append(Rung(rail, witness.approach_hz, above=True))
            bars.append(Rung(rail, witness.recede_hz, above=False))
    return bars
