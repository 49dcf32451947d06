"""From measurement and prediction to the curves over the spectrogram."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QCoreApplication

from wayside.compare.expected import HAND_PARAMETERS, expected_passby, hand_covariance
from wayside.hand.predict import Prediction
from wayside.measure.result import FIT_PARAMETERS, Measurement
from wayside.physics.bands import curve_times, pitch_uncertainty
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.session.hand_form import FormReading
from wayside_app.window.plot.curves import HaloCurve, Overlays
from wayside_app.window.plot.pitch_scale import PitchScale

FloatArray = npt.NDArray[np.float64]

COVERAGE = 2.0
"""Bands are 95 % intervals, k = 2 (JCGM 100, 6.3)."""

_FIRST, _SECOND = "motion.first_time", "motion.second_time"
_FRAMES = ("motion.first_frame", "motion.second_frame")
_RATE = "motion.frame_rate"
_STRAIGHT_POINTS = 200


def show_curves(
    overlays: Overlays,
    scale: PitchScale,
    measurement: Measurement | None,
    prediction: Prediction | None,
) -> None:
    """Draw pitch track, fit and prediction, each as far as there is one."""
    fit = measurement.fit if measurement is not None else None
    track = measurement.track if measurement is not None else None
    if track is None:
        overlays.track.setData([], [])
    else:
        overlays.track.setData(track.times_s, scale.place(track.pitch_hz))
    if measurement is None or fit is None:
        overlays.fit.hide()
        overlays.prediction.hide()
        return
    span = (measurement.start_s, measurement.stop_s)
    covariance = fit.covariance
    _show(overlays.fit, scale, fit.passby, span, FIT_PARAMETERS, covariance)
    if prediction is None:
        overlays.prediction.hide()
    else:
        expected = expected_passby(prediction, fit)
        covariance = hand_covariance(prediction)
        _show(overlays.prediction, scale, expected, span, HAND_PARAMETERS, covariance)


def show_straightened(
    overlays: Overlays,
    scale: PitchScale,
    measurement: Measurement | None,
    prediction: Prediction | None,
) -> None:
    """Draw the same in the rider's frame: times of emission, and pitches at the source."""
    overlays.fit.hide()
    overlays.prediction.hide()
    overlays.track.setData([], [])
    fit = measurement.fit if measurement is not None else None
    if measurement is None or fit is None:
        return
    p = fit.passby
    tau = p.emission_time(np.linspace(measurement.start_s, measurement.stop_s, _STRAIGHT_POINTS))
    _show_flat(overlays.fit, scale, tau, source_pitch(p, tau), fit.source_hz)
    if prediction is not None:
        q = prediction.source_hz
        _show_flat(overlays.prediction, scale, tau, np.full_like(tau, q.value), q)
    if measurement.track is not None:
        t, pitch = measurement.track.times_s, measurement.track.pitch_hz
        emitted = p.emission_time(t)
        at_source = pitch / p.pitch(t) * source_pitch(p, emitted)
        overlays.track.setData(emitted, scale.place(at_source))


def source_pitch(passby: PassBy, tau_s: FloatArray) -> FloatArray:
    """Return the pitch at the source (Hz) at emission times (s)."""
    if passby.speed_tied:
        return np.asarray(passby.source_hz * passby.velocity(tau_s) / passby.speed_mps)
    return np.full_like(tau_s, passby.source_hz)


def crossing_times(reading: FormReading) -> list[tuple[float, str]]:
    """Return when the markers were crossed on the film's clock (s), with their names."""
    fields = {f.path: f for section in reading.draft.sections for f in section.fields}
    entries = reading.entries
    names = [
        QCoreApplication.translate("Plot", "marker 1"),
        QCoreApplication.translate("Plot", "marker 2"),
    ]
    if _RATE in entries and all(path in entries for path in _FRAMES):
        rate = fields[_RATE].si(entries[_RATE])
        times = [fields[path].si(entries[path]) / rate for path in _FRAMES]
        return list(zip(times, names, strict=True))
    return [
        (fields[path].si(entries[path]), name)
        for path, name in zip((_FIRST, _SECOND), names, strict=True)
        if path in entries
    ]


def _show_flat(
    curve: HaloCurve, scale: PitchScale, tau: FloatArray, pitch: FloatArray, q: Quantity
) -> None:
    reach = COVERAGE * q.u if np.isfinite(q.u) else 0.0
    low, high = np.maximum(pitch - reach, 1.0), pitch + reach
    curve.show(tau, scale.place(pitch), scale.place(low), scale.place(high))


def _show(
    curve: HaloCurve,
    scale: PitchScale,
    passby: PassBy,
    span: tuple[float, float],
    parameters: tuple[str, ...],
    covariance: FloatArray,
) -> None:
    times = curve_times(passby, *span)
    pitch = passby.pitch(times)
    good = np.isfinite(pitch) & (pitch > 0)
    times, pitch = times[good], pitch[good]
    reach = np.zeros_like(pitch)
    if np.all(np.isfinite(covariance)):
        reach = COVERAGE * pitch_uncertainty(passby, times, parameters, covariance)
    curve.show(
        times,
        scale.place(pitch),
        scale.place(np.maximum(pitch - reach, 1.0)),
        scale.place(pitch + reach),
    )
