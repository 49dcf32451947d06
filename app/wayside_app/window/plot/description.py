"""One sentence that says what the plot shows, for people who do not see it."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement


def describe(measurement: Measurement | None, prediction: Prediction | None) -> str:
    """Return the plot's accessible description."""
    if measurement is None:
        return QCoreApplication.translate("Plot", "Spectrogram; nothing measured yet.")
    if measurement.fit is None:
        return QCoreApplication.translate(
            "Plot", "Spectrogram in which no pass-by was found: {reason}"
        ).format(reason=measurement.detection.reason)
    fit = measurement.fit
    text = QCoreApplication.translate(
        "Plot",
        "Spectrogram with a glide from {high:.1f} Hz down to {low:.1f} Hz, passing at {time:.2f} s",
    ).format(high=fit.approach_hz.value, low=fit.recede_hz.value, time=fit.passing_time_s.value)
    if prediction is None:
        return text + "."
    return text + QCoreApplication.translate(
        "Plot", "; predicted from {high:.1f} Hz to {low:.1f} Hz."
    ).format(high=prediction.approach_hz.value, low=prediction.recede_hz.value)
