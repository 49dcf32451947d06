"""What the reading windows should show: the predicted pitch there, not far away."""

from __future__ import annotations

import math

import numpy as np

from wayside.compare.heard import Heard
from wayside.compare.result import Reading
from wayside.hand import digits
from wayside.hand.methods import passby_of
from wayside.hand.predict import Prediction
from wayside.hand.sources.kind import OBSERVER, SOURCE
from wayside.measure.result import Measurement, ReadingWindow
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

_POINTS = 201


def readings_of(
    prediction: Prediction, measurement: Measurement, heard: Heard, harmonic: int
) -> tuple[Reading, ...]:
    """Return the two reading windows with the pitch predicted for them.

    The distance is the taped one if there is one, else the fitted one; the passing time is
    the fitted one.
    """
    two, time = measurement.two_window, heard.passing_time_s
    closest = prediction.closest_m or heard.closest_m
    if two is None or time is None or closest is None:
        return ()
    if prediction.setup.kind.mover not in (SOURCE, OBSERVER):
        return ()
    if not all(math.isfinite(x) for x in (time.value, closest.value)) or closest.value <= 0:
        return ()
    p = passby_of(prediction, closest.value, time.value)
    p = p.with_(source_hz=harmonic * p.source_hz)
    return (
        _reading("approach", two.approach, p, p.approach_hz, prediction.approach_hz),
        _reading("recede", two.recede, p, p.recede_hz, prediction.recede_hz),
    )


def _reading(
    name: str, window: ReadingWindow, p: PassBy, far_hz: float, predicted: Quantity
) -> Reading:
    times = np.linspace(window.start_s, window.stop_s, _POINTS)
    here = float(np.mean(p.pitch(times)))
    fine = Quantity(here, 0.1 * predicted.u, "Hz")
    far = Quantity(far_hz, 0.1 * predicted.u, "Hz")
    return Reading(
        name,
        window.start_s,
        window.stop_s,
        window.pitch,
        far_hz,
        here,
        f"{name.capitalize()} window {window.start_s:.2f} to {window.stop_s:.2f} s: predicted "
        f"{digits.with_unit(fine)} there (far away {digits.with_unit(far)}), read "
        f"{digits.full_text(window.pitch)}.",
    )
