"""What to mind when reading a comparison."""

from __future__ import annotations

import math

from wayside.compare.heard import Heard
from wayside.compare.result import DISAGREE, Row
from wayside.hand import digits
from wayside.hand.predict import Prediction
from wayside.hand.setup import Setup
from wayside.measure.result import Measurement
from wayside.measure.twowheels import WHEELBASE_M

_HIGHEST_HARMONIC = 8
_CLOSE = 0.06


def notes_on(
    setup: Setup,
    heard: Heard,
    rows: tuple[Row, ...],
    harmonic: int,
) -> tuple[str, ...]:
    """Return one sentence on each thing to mind, most important first."""
    by_name = {r.name: r for r in rows}
    notes = [_multiple(by_name, harmonic), _method(heard), _one_sided(by_name)]
    notes += [_clocks(by_name), _other_wheel(setup, by_name), _distance(setup, by_name)]
    if harmonic > 1:
        notes.append(f"The measured pitches were divided by {harmonic}, the harmonic you named.")
    return tuple(n for n in notes if n)


def slowing_note(prediction: Prediction, measurement: Measurement) -> str:
    """Say how the speed at the microphone differs from the mean speed between the markers.

    With acceleration a and the markers' middle a distance x before the microphone the
    difference is ``a x / v``.
    """
    fit = measurement.fit
    values = {i.path: i.value for i in prediction.setup.inputs}
    if fit is None or "motion.marker_distance" not in values:
        return ""
    a = fit.acceleration_mps2
    if not (math.isfinite(a.u) and abs(a.value) > 2.0 * a.u and a.value):
        return ""
    what = "slows" if a.value < 0 else "speeds up"
    if "microphone.position" not in values:
        return (
            f"The source {what}, and the set-up does not say where the microphone stands between "
            "the markers; unless it stands in the middle, the speed there is another one."
        )
    ahead = values["microphone.position"] - 0.5 * values["motion.marker_distance"]
    change = a.value * ahead / prediction.speed_mps.value
    if abs(change) < 0.2 * prediction.speed_mps.u:
        return ""
    side = "after" if ahead > 0 else "before"
    return (
        f"The source {what}, and the microphone stands {abs(ahead):.2g} m {side} the middle of the "
        f"markers: the speed there differs by {digits.signed(change)} m/s from the predicted one."
    )


def _multiple(rows: dict[str, Row], harmonic: int) -> str:
    source, drop = rows.get("source_hz"), rows.get("drop_cents")
    if source is None or source.verdict != DISAGREE or source.measured.value <= 0:
        return ""
    ratio = source.measured.value / source.predicted.value
    up = ratio >= 1.0
    factor = round(ratio if up else 1.0 / ratio)
    miss = math.log((ratio if up else 1.0 / ratio) / max(factor, 1))
    if not 2 <= factor <= _HIGHEST_HARMONIC or abs(miss) > _CLOSE:
        return ""
    drops = drop is not None and drop.verdict != DISAGREE
    support = " (the drop in cents agrees, which a whole multiple leaves alone)" if drops else ""
    if up:
        return (
            f"The measured pitches are close to {factor} times the predicted ones{support}: the "
            f"recording may show harmonic {factor * harmonic}, or the source makes {factor} "
            "cycles where one was counted."
        )
    return (
        f"The predicted pitches are close to {factor} times the measured ones{support}: the "
        f"recording may show a lower component, or only every {factor}th element sounds."
    )


def _method(heard: Heard) -> str:
    if heard.method != "two-window":
        return ""
    return (
        "There is no curve fit, so the two reading windows stand for the far pitches; read "
        "near the microphone they make the speed too small."
    )


def _one_sided(rows: dict[str, Row]) -> str:
    if "speed_mps" in rows:
        return ""
    return (
        "The recording yields only one far pitch, so speed and source pitch cannot be worked "
        "out from it alone."
    )


def _clocks(rows: dict[str, Row]) -> str:
    row = rows.get("passing_time_s")
    if row is None:
        return ""
    return (
        "The passing times can be compared only if film and sound share one clock: a separate "
        "recorder needs a clap at the start."
    )


def _other_wheel(setup: Setup, rows: dict[str, Row]) -> str:
    if "passing_time_s" not in rows or "speed_mps" not in rows or setup.kind.measure_as != "wheel":
        return ""
    later_s = WHEELBASE_M / rows["speed_mps"].predicted.value
    return (
        "The passing heard is that of the wheel that hums, or of a point between two that do: "
        "if the film was marked at the other wheel, the passing times differ by up to "
        f"{later_s:.2g} s."
    )


def _distance(setup: Setup, rows: dict[str, Row]) -> str:
    if "microphone.distance" in setup.entries or setup.kind.measure_as != "wheel":
        return ""
    return (
        "Measure the distance from microphone to track: with a hum it narrows the measured "
        "speed most."
    )
