"""Which stretch of time and pitch shows a pass-by well."""

from __future__ import annotations

import numpy as np

from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.session.session import Span

_DISTANCES = 8.0
_LEAST_S = 2.0
_CURVE_SHARE = 0.5
_WIDEST = 1.5
_FURTHEST = 5.0
_PAD = 0.3
_EDGE_S = 0.2
_LOOKS = 100


def pass_view(
    measurement: Measurement | None, prediction: Prediction | None = None
) -> tuple[Span, Span] | None:
    """Return (time range, pitch range) around the passing; None without a fit.

    Time: eight closest distances of travel to either side, and both reading windows, inside
    what was used. Pitch: the glide fills half of the height, less when the prediction
    would not fit.
    """
    if measurement is None or measurement.fit is None:
        return None
    p = measurement.fit.passby
    reach = max(_DISTANCES * p.closest_m / p.speed_mps, _LEAST_S)
    start, stop = p.passing_time_s - reach, p.passing_time_s + reach
    two = measurement.two_window
    if two is not None:
        start = min(start, two.approach.start_s - _EDGE_S)
        stop = max(stop, two.recede.stop_s + _EDGE_S)
    start, stop = max(start, measurement.start_s), min(stop, measurement.stop_s)
    if stop - start < _LEAST_S:
        start, stop = p.passing_time_s - _LEAST_S / 2, p.passing_time_s + _LEAST_S / 2
    return (start, stop), _pitch_range(p, prediction, (start, stop))


def _pitch_range(p: PassBy, prediction: Prediction | None, time_s: Span) -> Span:
    seen = p.pitch(np.linspace(*time_s, _LOOKS))
    bottom = min(p.recede_hz, float(seen.min()))
    top = max(p.approach_hz, float(seen.max()))
    glide = top - bottom
    margin = 0.5 * glide * (1.0 / _CURVE_SHARE - 1.0)
    low, high = bottom - margin, top + margin
    if prediction is not None:
        reach = _WIDEST * glide
        tops = [q.value + 2.5 * q.u for q in (prediction.approach_hz, prediction.recede_hz)]
        bottoms = [q.value - 2.5 * q.u for q in (prediction.approach_hz, prediction.recede_hz)]
        high = min(max(high, *tops), top + reach)
        low = max(min(low, *bottoms), bottom - reach)
        # a curve that is far off is seen even where its bars would leave too little for the glide
        curve, pad, far = _curve(prediction), _PAD * glide, _FURTHEST * glide
        high = max(high, min(curve[1] + pad, top + far))
        low = min(low, max(curve[0] - pad, bottom - far))
    return max(0.0, low), high


def _curve(prediction: Prediction) -> Span:
    pitches = (prediction.approach_hz.value, prediction.recede_hz.value)
    return min(pitches), max(pitches)
