"""Which numbers stand behind which plot."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QCoreApplication

from wayside.compare.expected import expected_passby
from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement
from wayside_app.window.plot.under_series import Series
from wayside_app.window.twins.twin_table import Twin

_STEP_S = 0.05


def spectrogram_twin(measurement: Measurement | None, prediction: Prediction | None) -> Twin | None:
    """Return pitch track, fit and prediction over time; None while nothing is measured."""
    if measurement is None or (measurement.track is None and measurement.fit is None):
        return None
    track, fit = measurement.track, measurement.fit
    if track is not None:
        times = track.times_s
    else:
        times = np.arange(measurement.start_s, measurement.stop_s, _STEP_S)
    heads, columns = [_tr("time (s)")], [times]
    if track is not None:
        heads += [_tr("pitch track (Hz)"), _tr("its uncertainty (Hz)"), _tr("level (dB)")]
        columns += [track.pitch_hz, track.u_hz, track.level_db]
    if fit is not None:
        heads.append(_tr("fitted (Hz)"))
        columns.append(fit.passby.pitch(times))
        if prediction is not None:
            heads.append(_tr("predicted (Hz)"))
            columns.append(expected_passby(prediction, fit).pitch(times))
    return Twin(_tr("Pitch over time"), tuple(heads), tuple(columns))


def under_twin(series: Series | None) -> Twin | None:
    """Return the numbers of the plot under the spectrogram."""
    if series is None or not series.columns:
        return None
    return Twin(series.sentence, series.heads, series.columns)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Twins", text)
