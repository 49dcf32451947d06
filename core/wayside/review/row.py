"""One run as one row: what was predicted, what was measured, and whether they agree."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from wayside.compare.result import AGREE, BORDERLINE, DISAGREE, UNTESTED, Comparison, Row
from wayside.hand.predict import Prediction
from wayside.measure.result import Fit, Measurement
from wayside.quantity import Quantity
from wayside.review.parts import Part, parts_of

WAITING, MEASURED, REFUSED, FAILED = "waiting", "measured", "refused", "failed"
OUT, BACK = "out", "back"
DIRECTIONS = ("", OUT, BACK)

COMPARED = ("speed_mps", "source_hz", "approach_hz", "recede_hz", "closest_m", "passing_time_s")
"""The quantities of a row that have two sides, in reading order; also names of its fields."""

VERDICT_WORDS = {
    AGREE: "agree",
    BORDERLINE: "borderline",
    DISAGREE: "do not agree",
    UNTESTED: "cannot be compared",
    "": "",
}
"""The verdict of a row in the words a table shows."""


@dataclass(frozen=True)
class Sides:
    """One quantity of a run, by hand and by sound.

    Parameters
    ----------
    predicted, measured : Quantity or None
        By hand and by sound; None where that side does not give it.
    difference : Quantity or None
        Measured minus predicted, shared inputs counted once.
    e_n : float or None
        Normalised error of the difference (ISO 13528); None if untested.
    verdict : str
        ``"agree"``, ``"disagree"``, ``"untested"``, or ``""`` where a side is missing.
    """

    predicted: Quantity | None = None
    measured: Quantity | None = None
    difference: Quantity | None = None
    e_n: float | None = None
    verdict: str = ""


@dataclass(frozen=True)
class RunRow:
    """One run.

    Parameters
    ----------
    name : str
        Name of the run, for example its file's.
    outcome : str
        `WAITING` (not measured yet), `MEASURED`, `REFUSED` (no pass-by found) or `FAILED`
        (could not be read or used).
    group : str
        Who made it or what it belongs to, free text.
    direction : str
        ``"out"``, ``"back"`` or ``""`` where it does not matter.
    speed_mps, source_hz, approach_hz, recede_hz, closest_m, passing_time_s : Sides
    acceleration_mps2 : Quantity or None
        By sound; u is 0 where the fit held the speed constant.
    sound_speed_mps : Quantity or None
        The speed of sound that measured speeds and distances rest on; runs with the same
        thermometer share its error.
    overall : str
        ``"agree"``, ``"borderline"``, ``"disagree"``, ``"untested"``, or ``""`` without a
        comparison.
    verdict : str
        The same in a sentence; empty without a comparison.
    sentence : str
        Why the run was refused or failed; empty otherwise.
    source_model, method : str
        Of the fit; empty without one.
    warnings : tuple of str
    parts : mapping of str to tuple of Part
        By quantity: what every hand measurement does to the difference, so that what several
        runs share can be told from what is each run's own.
    """

    name: str
    outcome: str
    group: str = ""
    direction: str = ""
    speed_mps: Sides = field(default_factory=Sides)
    source_hz: Sides = field(default_factory=Sides)
    approach_hz: Sides = field(default_factory=Sides)
    recede_hz: Sides = field(default_factory=Sides)
    closest_m: Sides = field(default_factory=Sides)
    passing_time_s: Sides = field(default_factory=Sides)
    acceleration_mps2: Quantity | None = None
    sound_speed_mps: Quantity | None = None
    overall: str = ""
    verdict: str = ""
    sentence: str = ""
    source_model: str = ""
    method: str = ""
    warnings: tuple[str, ...] = ()
    parts: Mapping[str, tuple[Part, ...]] = field(default_factory=dict)

    def sides(self, name: str) -> Sides:
        """Return the sides of one of `COMPARED`."""
        if name not in COMPARED:
            raise KeyError(name)
        return getattr(self, name)  # type: ignore[no-any-return]

    @property
    def overall_words(self) -> str:
        """The verdict in the words a table shows."""
        return VERDICT_WORDS[self.overall]


def run_row(
    name: str,
    measurement: Measurement | None,
    prediction: Prediction | None = None,
    comparison: Comparison | None = None,
    group: str = "",
    direction: str = "",
) -> RunRow:
    """Return the row of a run.

    Parameters
    ----------
    name, group, direction : str
        See `RunRow`.
    measurement : Measurement or None
        None before the recording is measured: the row then shows the prediction alone.
    prediction : Prediction or None
        By hand; the comparison's own is used where there is one.
    comparison : Comparison or None
        Its measured values rest on the set-up's speed of sound and harmonic, and so stand
        before those of the measurement.
    """
    if comparison is not None:
        prediction = comparison.prediction
    rows = {r.name: r for r in comparison.rows} if comparison is not None else {}

    def sides(quantity: str) -> Sides:
        return _sides(quantity, rows.get(quantity), prediction, measurement)

    fit = measurement.fit if measurement is not None else None
    refused = measurement is not None and not measurement.found
    return RunRow(
        name=name,
        outcome=WAITING if measurement is None else REFUSED if refused else MEASURED,
        group=group,
        direction=direction,
        speed_mps=sides("speed_mps"),
        source_hz=sides("source_hz"),
        approach_hz=sides("approach_hz"),
        recede_hz=sides("recede_hz"),
        closest_m=sides("closest_m"),
        passing_time_s=sides("passing_time_s"),
        acceleration_mps2=fit.acceleration_mps2 if fit is not None else None,
        sound_speed_mps=_sound_speed(prediction, measurement),
        overall=comparison.overall if comparison is not None else "",
        verdict=comparison.verdict if comparison is not None else "",
        sentence=measurement.detection.reason if measurement is not None and refused else "",
        source_model=fit.source_model if fit is not None else "",
        method=fit.method if fit is not None else "",
        warnings=_warnings(measurement, comparison),
        parts=parts_of(comparison) if comparison is not None else {},
    )


def failed_row(
    name: str,
    sentence: str,
    prediction: Prediction | None = None,
    group: str = "",
    direction: str = "",
) -> RunRow:
    """Return the row of a run that could not be read or used, with the sentence that says why."""
    waiting = run_row(name, None, prediction, group=group, direction=direction)
    return replace(waiting, outcome=FAILED, sentence=sentence)


def _sides(
    name: str, row: Row | None, prediction: Prediction | None, measurement: Measurement | None
) -> Sides:
    if row is not None:
        e_n = row.e_n if math.isfinite(row.e_n) else None
        return Sides(row.predicted, row.measured, row.difference, e_n, row.verdict)
    predicted: Quantity | None = getattr(prediction, name) if prediction is not None else None
    return Sides(predicted, _measured(name, measurement))


def _measured(name: str, measurement: Measurement | None) -> Quantity | None:
    if measurement is None:
        return None
    fit: Fit | None = measurement.fit
    if fit is not None:
        return getattr(fit, name)  # type: ignore[no-any-return]
    two = measurement.two_window
    if two is None:
        return None
    read = {
        "speed_mps": two.speed_mps,
        "source_hz": two.source_hz,
        "approach_hz": two.approach.pitch,
        "recede_hz": two.recede.pitch,
    }
    return read.get(name)


def _sound_speed(prediction: Prediction | None, measurement: Measurement | None) -> Quantity | None:
    if measurement is not None:
        return measurement.sound_speed_mps
    return prediction.sound_speed_mps if prediction is not None else None


def _warnings(measurement: Measurement | None, comparison: Comparison | None) -> tuple[str, ...]:
    """The comparison's notes end with the measurement's warnings, so one of them is enough."""
    if comparison is not None:
        return comparison.notes
    return measurement.warnings if measurement is not None else ()
