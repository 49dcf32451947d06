"""The numbers behind the plots: track, fit, expectation and residuals as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.compare.expected import HAND_PARAMETERS, expected_passby, hand_covariance
from wayside.hand.predict import Prediction
from wayside.measure.result import FIT_PARAMETERS, Measurement
from wayside.physics.bands import curve_times, pitch_uncertainty
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

_NONE = np.zeros(0)


@dataclass(frozen=True)
class Curve:
    """A pitch over time.

    Parameters
    ----------
    times_s, pitch_hz, u_hz : ndarray, shape (n,)
        Time on the recording's clock (s), pitch heard then (Hz) and its standard uncertainty
        (Hz, NaN where it is not known). All empty where there is no such curve.
    """

    times_s: FloatArray
    pitch_hz: FloatArray
    u_hz: FloatArray

    def __len__(self) -> int:
        return int(self.times_s.size)


EMPTY = Curve(_NONE, _NONE, _NONE)


@dataclass(frozen=True)
class PlotData:
    """Everything that is drawn over a spectrogram, and the residuals below it.

    Parameters
    ----------
    track : Curve
        The pitch followed in the recording.
    fit : Curve
        The fitted pass-by, by sound.
    expected : Curve
        The pass-by that the hand expects, set at the passing time that the sound found.
    residual_times_s, residual_cents, residual_u_cents : ndarray, shape (n,)
        Track minus fit (cents, 1200 to the octave).
    """

    track: Curve
    fit: Curve
    expected: Curve
    residual_times_s: FloatArray
    residual_cents: FloatArray
    residual_u_cents: FloatArray


def plot_data(measurement: Measurement | None, prediction: Prediction | None = None) -> PlotData:
    """Return the curves of a measurement and of what was expected.

    Parameters
    ----------
    measurement : Measurement or None
        As `wayside.measure.pipeline.measure` returns it.
    prediction : Prediction, optional
        As `wayside.hand.predict.predict` returns it.

    Returns
    -------
    PlotData
        With empty arrays where there is nothing to draw.
    """
    track = measurement.track if measurement is not None else None
    fit = measurement.fit if measurement is not None else None
    followed = EMPTY if track is None else Curve(track.times_s, track.pitch_hz, track.u_hz)
    if measurement is None or fit is None:
        return PlotData(followed, EMPTY, EMPTY, _NONE, _NONE, _NONE)
    span = (measurement.start_s, measurement.stop_s)
    expected = EMPTY
    if prediction is not None:
        passby = expected_passby(prediction, fit)
        expected = _curve(passby, span, HAND_PARAMETERS, hand_covariance(prediction))
    return PlotData(
        followed,
        _curve(fit.passby, span, FIT_PARAMETERS, fit.covariance),
        expected,
        fit.residual_times_s,
        fit.residual_cents,
        fit.residual_u_cents,
    )


def _curve(
    passby: PassBy, span: tuple[float, float], names: tuple[str, ...], covariance: FloatArray
) -> Curve:
    times = curve_times(passby, *span)
    pitch = passby.pitch(times)
    good = np.isfinite(pitch) & (pitch > 0)
    times, pitch = times[good], pitch[good]
    if np.all(np.isfinite(covariance)):
        u = pitch_uncertainty(passby, times, names, covariance)
    else:
        u = np.full_like(pitch, np.nan)
    return Curve(times, pitch, u)
