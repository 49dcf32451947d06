"""The pass-by that the hand expects, set where and when the sound found it."""

from __future__ import annotations

from wayside.hand.predict import Prediction
from wayside.measure.result import Fit
from wayside.physics.passby import PassBy


def expected_passby(prediction: Prediction, fit: Fit) -> PassBy:
    """Return the predicted pass-by on the recording's clock.

    Speed, source pitch and speed of sound are the hand's; so is the distance, where it was
    taped. The passing time, and else the distance, are taken from the fit.
    """
    closest = prediction.closest_m
    return fit.passby.with_(
        source_hz=prediction.source_hz.value,
        speed_mps=prediction.speed_mps.value,
        sound_speed_mps=prediction.sound_speed_mps.value,
        closest_m=fit.passby.closest_m if closest is None else closest.value,
        acceleration_mps2=0.0,
    )
