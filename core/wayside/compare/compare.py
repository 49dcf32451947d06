"""Prediction and measurement side by side, with a verdict in plain words.

Inputs that serve both sides (the speed of sound, the wind) are carried as shared causes, so
their uncertainty is counted once and cancels where it should.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from wayside.compare.explain import Target, explain
from wayside.compare.heard import Heard, heard_in, measured_results
from wayside.compare.joint import joint_test
from wayside.compare.notes import notes_on, slowing_note
from wayside.compare.readings import readings_of
from wayside.compare.result import (
    AGREE,
    BORDERLINE,
    DISAGREE,
    UNTESTED,
    Comparison,
    Row,
    TurnedRound,
)
from wayside.compare.rows import LEVEL, row
from wayside.errors import InputError
from wayside.hand import digits
from wayside.hand.entry import effective_dof
from wayside.hand.inputs import Input
from wayside.hand.model import evaluate, linear_values
from wayside.hand.predict import RESULTS, Prediction, predict, results_of
from wayside.hand.propagate import Number, covariances, sensitivities, u_of, value_of
from wayside.hand.setup import Setup, fields_of
from wayside.hand.sources.kind import Given, Implied, Outcome
from wayside.hand.units import find_unit
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.quantity import Quantity

_MODEL_OF = {"tone": "fixed", "wheel": "speed-tied"}
_FAR = ("approach_hz", "recede_hz")


def compare(
    prediction: Prediction | Setup,
    measurement: Measurement,
    harmonic: int = 1,
    closest_used: bool = False,
) -> Comparison:
    """Compare a prediction with what was measured in the recording.

    Parameters
    ----------
    prediction : Prediction or Setup
    measurement : Measurement
        Its pitches are used; speeds are worked out again with the set-up's speed of sound.
    harmonic : int
        The harmonic of the source that was measured, 1 for the fundamental.
    closest_used : bool
        True when the taped distance went into the measurement, so that finding it again
        proves nothing.

    Raises
    ------
    InputError
        If the measurement found no pass-by, or the source kind is not a straight pass-by.
    """
    if isinstance(prediction, Setup):
        prediction = predict(prediction)
    check_comparable(prediction.setup)
    heard = heard_in(measurement, _MODEL_OF.get(prediction.setup.kind.measure_as, ""))
    found = compare_heard(prediction, heard, harmonic, closest_used)
    slowing = slowing_note(prediction, measurement)
    return replace(
        found,
        measurement=measurement,
        readings=readings_of(prediction, measurement, heard, harmonic),
        notes=(*found.notes, *filter(None, [slowing]), *measurement.warnings),
    )


def compare_heard(
    prediction: Prediction | Setup,
    heard: Heard,
    harmonic: int = 1,
    closest_used: bool = False,
) -> Comparison:
    """Compare a prediction with two far pitches, however they were found.

    Parameters
    ----------
    prediction : Prediction or Setup
    heard : Heard
        The far pitches, for example judged by ear.
    harmonic, closest_used
        As in `compare`.
    """
    if isinstance(prediction, Setup):
        prediction = predict(prediction)
    setup = prediction.setup
    check_comparable(setup)
    if harmonic < 1:
        raise InputError(f"The harmonic is {harmonic}, but must be 1 or more.")
    heard = heard.on_fundamental(harmonic)
    inputs = setup.inputs
    given, outcome = evaluate(setup, linear_values(inputs), inputs)
    predicted = results_of(setup, given, outcome)
    measured = measured_results(heard, setup.kind, given)
    differences = {n: measured[n] - x for n, x in predicted.items() if n in measured}
    dof = {name: difference_dof(x, inputs) for name, x in differences.items()}
    rows = tuple(
        row(name, predicted[name], measured[name], closest_used and name == "closest_m", dof[name])
        for name in RESULTS
        if name in differences
    )
    used = tuple(k for k, name in enumerate(_FAR) if name in measured)
    expected = tuple(predicted[_FAR[k]] for k in used)
    seen = tuple(measured[_FAR[k]] for k in used)
    chi_square, p_value = joint_test(expected, seen, inputs)
    overall = _overall(rows, p_value)
    target = Target(np.array([value_of(x) for x in seen]), covariances(seen), used)
    return Comparison(
        prediction=prediction,
        measurement=None,
        rows=rows,
        overall=overall,
        verdict=_verdict(overall, rows),
        chi_square=chi_square,
        p_value=p_value,
        dof=len(used),
        explanations=explain(setup, inputs, expected, target) if used else (),
        turned_round=_turned_round(setup, given, outcome, measured),
        readings=(),
        notes=notes_on(setup, heard, rows, harmonic),
    )


def check_comparable(setup: Setup) -> None:
    """Raise `InputError` unless the set-up describes a straight pass-by."""
    if setup.kind.back_solve is None:
        raise InputError(
            f'The source kind "{setup.source_kind}" does not pass in a straight line, so its '
            "prediction cannot be compared with a pass-by in a recording."
        )


def options_for(
    prediction: Prediction,
    start_s: float | None = None,
    stop_s: float | None = None,
    band_hz: tuple[float, float] | None = None,
) -> MeasureOptions:
    """Return how to measure the recording so that the comparison is a fair test.

    The speed of sound, the kind of source and the taped distance are passed on; what the
    comparison is to test (pattern elements per metre, speed, pitch) is not.
    """
    return MeasureOptions(
        sound_speed=prediction.sound_speed_mps,
        start_s=start_s,
        stop_s=stop_s,
        band_hz=band_hz,
        source_kind=prediction.setup.kind.measure_as,
        closest=prediction.closest_m,
    )


def difference_dof(difference: Number, inputs: tuple[Input, ...]) -> float:
    """Return the effective degrees of freedom of a difference; the recording's are infinite."""
    slopes = sensitivities(difference)
    parts = [(abs(slopes.get(i.path, 0.0)) * i.u, i.dof) for i in inputs]
    rest = u_of(difference) ** 2 - sum(u * u for u, _ in parts)
    return effective_dof([*parts, (math.sqrt(max(rest, 0.0)), math.inf)])


def _overall(rows: tuple[Row, ...], p_value: float) -> str:
    if math.isnan(p_value):
        return UNTESTED
    if p_value < 1.0 - LEVEL:
        return DISAGREE
    return AGREE if all(r.verdict != DISAGREE for r in rows) else BORDERLINE


def _verdict(overall: str, rows: tuple[Row, ...]) -> str:
    off = [r.label for r in rows if r.verdict == DISAGREE]
    if overall == UNTESTED:
        return "The recording yields no far pitch, so prediction and recording cannot be compared."
    if overall == BORDERLINE:
        lies = "lies just outside its" if len(off) == 1 else "lie just outside their"
        return (
            f"Borderline: taken together prediction and recording agree, but {_and(off)} {lies} "
            "uncertainties."
        )
    if overall == DISAGREE:
        what = f" in {_and(off)}" if off else " when approach and recede are taken together"
        return f"Prediction and recording do not agree{what}: something is off."
    return "Prediction and recording agree within their uncertainties." + _power(rows)


def _power(rows: tuple[Row, ...]) -> str:
    speed = next((r for r in rows if r.name == "speed_mps"), None)
    if speed is None:
        return ""
    allowed = 100.0 * speed.k * speed.difference.u / speed.predicted.value
    grade = " That is a weak test." if allowed > 30.0 else ""
    return f" An error in speed of more than about {allowed:.1f} % would have shown.{grade}"


def _turned_round(
    setup: Setup, given: Given, outcome: Outcome, measured: dict[str, Number]
) -> tuple[TurnedRound, ...]:
    if "speed_mps" not in measured:
        return ()
    seen = setup.kind.implied(given.x, given.way, measured["speed_mps"], measured["source_hz"])
    by_hand = setup.kind.implied(given.x, given.way, outcome.speed, outcome.source)
    return tuple(_turned(setup, s, h) for s, h in zip(seen, by_hand, strict=True))


def _turned(setup: Setup, seen: Implied, by_hand: Implied) -> TurnedRound:
    field = fields_of(setup.source_kind)[seen.path]
    entry = setup.entries.get(seen.path)
    unit = find_unit(field.dimension, entry.unit if entry else field.unit)
    assert unit is not None

    def shown(x: Number) -> Quantity:
        return Quantity(unit.from_si(value_of(x)), unit.u_from_si(u_of(x)), unit.symbol)

    value, hand = shown(seen.value), shown(by_hand.value)
    text = seen.sentence.format(digits.full_text(value))
    text = text[:1].upper() + text[1:]
    sentence = f"{text} (by hand {digits.full_text(hand)})."
    return TurnedRound(seen.path, value, hand, sentence)


def _and(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
