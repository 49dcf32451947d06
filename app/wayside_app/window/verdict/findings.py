"""What the verdict area says, as plain values: headline, reason, and the rows of the table."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QCoreApplication

from wayside.compare import result
from wayside.compare.result import Comparison
from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.words import said

AGREE, DIFFER, UNSURE, PLAIN = "agree", "differ", "unsure", "plain"

_TONES = {result.AGREE: AGREE, result.DISAGREE: DIFFER}


@dataclass(frozen=True)
class FindingRow:
    """One quantity in the side-by-side table; empty texts where a witness is silent."""

    name: str
    hand: str
    sound: str
    windows: str
    difference: str
    verdict: str
    tone: str


@dataclass(frozen=True)
class Findings:
    """Everything the area shows.

    Parameters
    ----------
    headline : str
        The verdict in a few words; the largest text of the window.
    why : str
        One or two sentences below it.
    tone : str
        ``"agree"``, ``"differ"``, ``"unsure"`` or ``"plain"``.
    rows : tuple of FindingRow
    """

    headline: str
    why: str
    tone: str
    rows: tuple[FindingRow, ...]


def findings(
    prediction: Prediction | None, measurement: Measurement | None, comparison: Comparison | None
) -> Findings:
    """Put into words what is known so far."""
    rows = _rows(prediction, measurement, comparison)
    fit = measurement.fit if measurement is not None else None
    if measurement is not None and fit is None:
        return Findings(_tr("No pass-by found"), said(measurement.detection.reason), UNSURE, rows)
    if fit is None and prediction is None:
        return Findings(
            _tr("Nothing to compare yet"),
            _tr("Open a recording, fill in the form, or both: whatever is known is shown here."),
            PLAIN,
            rows,
        )
    if fit is None:
        assert prediction is not None
        return Findings(
            _tr("We expect {high}, then {low}").format(
                high=_round(prediction.approach_hz), low=_round(prediction.recede_hz)
            ),
            _tr("Open the recording to hear whether that is so."),
            PLAIN,
            rows,
        )
    assert measurement is not None
    if comparison is None:
        return Findings(
            _tr("The sound says {speed}").format(speed=figures.full(fit.speed_mps)),
            said(measurement.limits[0]) if measurement.limits else "",
            PLAIN,
            rows,
        )
    tone = _TONES.get(comparison.overall, UNSURE)
    return Findings(_headline(tone), _why(comparison), tone, rows)


def _headline(tone: str) -> str:
    if tone == AGREE:
        return "✓ " + _tr("Hand and sound agree")
    if tone == DIFFER:
        return "✗ " + _tr("Hand and sound disagree")
    return "? " + _tr("It cannot be told for certain")


def _why(comparison: Comparison) -> str:
    """Return the verdict's reason; for a difference, the likeliest culprit with it."""
    if comparison.overall != result.DISAGREE:
        return said(comparison.verdict)
    culprit = next((e for e in comparison.explanations if e.explains), None)
    if culprit is None:
        return said(comparison.verdict) + " " + _tr("No single hand measurement would explain it.")
    return (
        said(comparison.verdict)
        + " "
        + _tr("One wrong entry would explain it: {sentence}").format(
            sentence=said(culprit.sentence)
        )
    )


def _rows(
    prediction: Prediction | None, measurement: Measurement | None, comparison: Comparison | None
) -> tuple[FindingRow, ...]:
    fit = measurement.fit if measurement is not None else None
    two = measurement.two_window if measurement is not None else None
    read = {
        "approach_hz": two.approach.pitch if two else None,
        "recede_hz": two.recede.pitch if two else None,
        "source_hz": two.source_hz if two else None,
        "speed_mps": two.speed_mps if two else None,
    }
    names = {
        "approach_hz": _tr("approach (Hz)"),
        "recede_hz": _tr("recede (Hz)"),
        "source_hz": _tr("source (Hz)"),
        "speed_mps": _tr("speed (m/s)"),
    }
    return tuple(
        FindingRow(
            name,
            _text(getattr(prediction, key, None)),
            _text(getattr(fit, key, None)),
            _text(read[key]),
            *_difference(comparison.row(key) if comparison is not None else None),
        )
        for key, name in names.items()
    )


def _difference(row: result.Row | None) -> tuple[str, str, str]:
    """Return difference, verdict word and tone of one row."""
    if row is None:
        return "", "", PLAIN
    text = figures.signed_difference(row.difference)
    if row.cents is not None:
        text += " " + _tr("({cents} cents)").format(
            cents=figures.signed(row.cents, 0 if abs(row.cents) >= 10 else 1)
        )
    if row.verdict == result.AGREE:
        return text, "✓ " + _tr("yes"), AGREE
    if row.verdict == result.DISAGREE:
        return text, "✗ " + _tr("no"), DIFFER
    return text, _tr("not tested"), UNSURE


def _text(quantity: Quantity | None) -> str:
    return "" if quantity is None else figures.bare(quantity)


def _round(quantity: Quantity) -> str:
    return f"{figures.plain(quantity.value, 0)} {quantity.unit}"


def _tr(text: str) -> str:
    return QCoreApplication.translate("Findings", text)
