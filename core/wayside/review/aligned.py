"""Two glides on one time axis about their passing, and how far apart they lie in cents.

The pitch curve depends on (f0, v, d, t0, c); each curve carries the covariance of these, and
the band of the difference is ``sqrt(J1 C1 J1^T + J2 C2 J2^T)`` in the logarithm of the pitch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wayside.compare.expected import expected_passby
from wayside.errors import InputError
from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement
from wayside.physics.passby import FloatArray, PassBy
from wayside.quantity import Quantity

POINTS = 241
CENTS = 1200.0 / math.log(2.0)
_SPAN = 5.0
_FIELDS = ("source_hz", "speed_mps", "closest_m", "passing_time_s", "sound_speed_mps")


@dataclass(frozen=True)
class Glide:
    """A pitch curve with what is known about it, on its own clock.

    Parameters
    ----------
    passby : PassBy
    covariance : ndarray, shape (5, 5)
        Of (source_hz, speed_mps, closest_m, passing_time_s, sound_speed_mps).
    start_s, stop_s : float
        Where it was heard (or is drawn), from the passing (s).
    frames_s, frames_hz, frames_u_hz : ndarray, shape (n,)
        The pitch followed frame by frame, times from the passing; empty for a prediction.
    """

    passby: PassBy
    covariance: FloatArray
    start_s: float
    stop_s: float
    frames_s: FloatArray
    frames_hz: FloatArray
    frames_u_hz: FloatArray


@dataclass(frozen=True)
class Aligned:
    """Two glides about their passing.

    Parameters
    ----------
    times_s : ndarray, shape (n,)
        From the passing (s): when the sound is heard, less the time of closest approach.
    first_hz, second_hz : ndarray, shape (n,)
        The two curves (Hz).
    cents, u_cents : ndarray, shape (n,)
        First over second as an interval, and its standard uncertainty.
    frames_s, frames_cents, frames_u_cents : ndarray, shape (m,)
        The first one's own frames over the second curve; their uncertainty is that of the
        frame alone.
    """

    times_s: FloatArray
    first_hz: FloatArray
    second_hz: FloatArray
    cents: FloatArray
    u_cents: FloatArray
    frames_s: FloatArray
    frames_cents: FloatArray
    frames_u_cents: FloatArray


def measured_glide(m: Measurement) -> Glide:
    """Return the glide that was measured.

    Raises
    ------
    InputError
        If no pass-by was found.
    """
    fit, track = m.fit, m.track
    if fit is None:
        raise InputError(f"There is no glide to show: {m.detection.reason}")
    zero = fit.passing_time_s.value
    covariance = np.zeros((5, 5))
    covariance[:4, :4] = _without_sound(fit.covariance, fit.passby, m.sound_speed_mps)
    empty = np.zeros(0)
    reach = _SPAN * fit.passby.closest_m / fit.passby.speed_mps
    heard = track is not None and track.times_s.size > 1
    return Glide(
        fit.passby,
        covariance,
        float(track.times_s[0]) - zero if track is not None and heard else -reach,
        float(track.times_s[-1]) - zero if track is not None and heard else reach,
        track.times_s - zero if track is not None else empty,
        track.pitch_hz if track is not None else empty,
        track.u_hz if track is not None else empty,
    )


def predicted_glide(prediction: Prediction, beside: Measurement) -> Glide:
    """Return the glide the hand expects, at the passing the sound found.

    Raises
    ------
    InputError
        If no pass-by was found in the recording.
    """
    shown = measured_glide(beside)
    assert beside.fit is not None
    passby = expected_passby(prediction, beside.fit)
    known = {
        "source_hz": prediction.source_hz,
        "speed_mps": prediction.speed_mps,
        "closest_m": prediction.closest_m,
        "sound_speed_mps": prediction.sound_speed_mps,
    }
    covariance = np.zeros((5, 5))
    for i, a in enumerate(_FIELDS):
        for j, b in enumerate(_FIELDS):
            one, other = known.get(a), known.get(b)
            if one is not None and other is not None:
                covariance[i, j] = _correlation(prediction, a, b) * one.u * other.u
    empty = np.zeros(0)
    return Glide(passby, covariance, shown.start_s, shown.stop_s, empty, empty, empty)


def align(first: Glide, second: Glide, points: int = POINTS) -> Aligned:
    """Return both glides, and first over second, where both were heard.

    Raises
    ------
    InputError
        If they have no stretch about their passing in common.
    """
    start, stop = max(first.start_s, second.start_s), min(first.stop_s, second.stop_s)
    if not stop > start:
        raise InputError(
            "The two glides have no stretch about their passing in common, so they cannot be set "
            "over each other."
        )
    times = np.linspace(start, stop, points)
    one, other = _at(first, times), _at(second, times)
    variance = _log_variance(first, times) + _log_variance(second, times)
    inside = (first.frames_s >= second.start_s) & (first.frames_s <= second.stop_s)
    frames, pitch = first.frames_s[inside], first.frames_hz[inside]
    return Aligned(
        times,
        one,
        other,
        CENTS * np.log(one / other),
        CENTS * np.sqrt(variance),
        frames,
        CENTS * np.log(pitch / _at(second, frames)),
        CENTS * first.frames_u_hz[inside] / pitch,
    )


def _at(glide: Glide, times: FloatArray) -> FloatArray:
    return glide.passby.pitch(times + glide.passby.passing_time_s)


def _log_variance(glide: Glide, times: FloatArray) -> FloatArray:
    p = glide.passby
    at = times + p.passing_time_s
    slopes = np.zeros((times.size, len(_FIELDS)))
    for i, name in enumerate(_FIELDS):
        value = float(getattr(p, name))
        u = math.sqrt(max(0.0, float(glide.covariance[i, i])))
        if not (math.isfinite(u) and u > 0):
            continue
        # steps far below the uncertainty, yet far above rounding
        step = min(1e-2 * u, 1e-4 * abs(value)) if name != "passing_time_s" else 1e-2 * u
        step = max(step, 1e-9 * abs(value))
        up, down = p.with_(**{name: value + step}), p.with_(**{name: value - step})
        slopes[:, i] = np.log(up.pitch(at) / down.pitch(at)) / (2.0 * step)
    variance = np.einsum("ti,ij,tj->t", slopes, glide.covariance, slopes)
    return np.asarray(np.maximum(variance, 0.0), dtype=np.float64)


def _without_sound(covariance: FloatArray, p: PassBy, sound_speed: Quantity) -> FloatArray:
    """Take out the part that the speed of sound puts on speed and distance alike.

    Both are proportional to it, and the curve that is heard does not change with it.
    """
    along = np.array([0.0, p.speed_mps, p.closest_m, 0.0]) * sound_speed.relative_u
    left = np.asarray(covariance, dtype=np.float64) - np.outer(along, along)
    sizes = np.sqrt(np.maximum(np.diag(covariance), 1e-300))
    spreads, axes = np.linalg.eigh(left / np.outer(sizes, sizes))
    # a taped distance does not follow the speed of sound: what then turns negative is none
    whole = (axes * np.maximum(spreads, 0.0)) @ axes.T
    return np.asarray(whole * np.outer(sizes, sizes), dtype=np.float64)


def _correlation(prediction: Prediction, a: str, b: str) -> float:
    if a == b:
        return 1.0
    table = prediction.correlation
    return float(table.get((a, b), table.get((b, a), 0.0)))
