"""A plan that starts from a set-up: its source, its air, its microphone."""

from __future__ import annotations

from dataclasses import replace

from wayside.errors import InputError
from wayside.hand.predict import Prediction
from wayside.hand.sources.kind import SOURCE
from wayside.plan.request import PlanRequest


def request_from(
    prediction: Prediction, before_m: float, after_m: float, closest_m: float | None = None
) -> PlanRequest:
    """Return a request with the source, speed and air of a prediction.

    Parameters
    ----------
    prediction : Prediction
    before_m, after_m : float
        Run before and after the microphone (m).
    closest_m : float or None
        Distance to the track (m); None takes the set-up's.

    Raises
    ------
    InputError
        If nothing moves past a microphone at rest, or the set-up has no distance to the track.
    """
    if prediction.setup.kind.mover != SOURCE:
        raise InputError("Only a source that moves past a microphone at rest can be planned.")
    if closest_m is None:
        if prediction.closest_m is None:
            raise InputError(
                "The set-up has no microphone.distance; add it, or give the distance to the track."
            )
        closest_m = prediction.closest_m.value
    request = PlanRequest(
        prediction.speed_mps.value,
        prediction.speed_mps.value,
        closest_m,
        before_m,
        after_m,
        pitch_hz=prediction.source_hz.value,
        sound_speed_mps=prediction.sound_speed_mps.value,
    )
    if prediction.cycles_per_metre is not None:
        n = prediction.cycles_per_metre.value
        request = replace(request, pitch_hz=None, cycles_per_metre=n)
    return request
