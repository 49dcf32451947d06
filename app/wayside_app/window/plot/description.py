"""One sentence that says what the plot shows, for people who do not see it."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement
from wayside_app.window import figures
from wayside_app.window.words import said


def describe(measurement: Measurement | None, prediction: Prediction | None) -> str:
    """Return the plot's accessible description."""
    if measurement is None:
        return QCoreApplication.translate("Plot", "Spectrogram; nothing measured yet.")
    if measurement.fit is None:
        return QCoreApplication.translate(
            "Plot", "Spectrogram in which no pass-by was found: {reason}"
        ).format(reason=said(measurement.detection.reason))
    fit = measurement.fit
    text = QCoreApplication.translate(
        "Plot",
        "Spectrogram with a glide from {high} Hz down to {low} Hz, passing at {time} s",
    ).format(
        high=figures.plain(fit.approach_hz.value, 1),
        low=figures.plain(fit.recede_hz.value, 1),
        time=figures.plain(fit.passing_time_s.value, 2),
    )
    if prediction is None:
        return text + "."
    return text + QCoreApplication.translate(
        "Plot", "; predicted from {high} Hz to {low} Hz."
    ).format(
        high=figures.plain(prediction.approach_hz.value, 1),
        low=figures.plain(prediction.recede_hz.value, 1),
    )
