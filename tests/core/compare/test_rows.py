"""One line of the comparison against arithmetic done by hand, and the verdict made of the lines."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from wayside.compare.compare import _verdict, compare, compare_heard
from wayside.compare.heard import heard_by_ear
from wayside.compare.result import AGREE, BORDERLINE, DISAGREE, UNTESTED, Row
from wayside.compare.rows import row
from wayside.hand.entry import Entry
from wayside.hand.predict import predict
from wayside.hand.propagate import Number, uncertain
from wayside.hand.setup import Setup
from wayside.measure.result import Measurement
from wayside.quantity import Quantity

Heard = Callable[..., Measurement]


def _pair(predicted: float, measured: float) -> tuple[Number, Number]:
    # 3 and 4 make 5, whatever else is rounded
    return uncertain(predicted, 3.0, "hand"), uncertain(measured, 4.0, "sound")


def _row(name: str, predicted: float, measured: float, used: bool = False) -> Row:
    return row(name, *_pair(predicted, measured), used)


def test_difference_percent_cents_and_normalised_error() -> None:
    r = _row("approach_hz", 200.0, 205.0)
    assert (r.difference.value, r.difference.u) == (5.0, 5.0)
    assert r.percent == pytest.approx(2.5)
    # 1200 log2(205/200), by the definition of the cent
    assert r.cents == pytest.approx(42.7491, abs=1e-3)
    assert r.e_n == 0.5  # 5 over 2 x 5 (ISO 13528)
    assert r.k == 2.0


@pytest.mark.parametrize(
    ("measured", "verdict", "words"),
    [
        (
            210.0,
            AGREE,
            "10 Hz above the prediction, where the uncertainties allow 10 Hz: they agree",
        ),
        (
            211.0,
            DISAGREE,
            "11 Hz above the prediction, where the uncertainties allow 10 Hz: they do not",
        ),
        (190.0, AGREE, "lies 10 Hz below"),
        (189.0, DISAGREE, "lies 11 Hz below"),
        (200.5, AGREE, "above"),
    ],
)
def test_agreement_ends_where_the_normalised_error_is_one(
    measured: float, verdict: str, words: str
) -> None:
    r = _row("recede_hz", 200.0, measured)
    assert r.verdict == verdict
    assert words in r.sentence.replace(".0 Hz", " Hz")


@pytest.mark.parametrize("name", ["approach_hz", "recede_hz", "source_hz"])
def test_pitches_have_an_interval(name: str) -> None:
    assert _row(name, 200.0, 400.0).cents == pytest.approx(1200.0)


@pytest.mark.parametrize("name", ["speed_mps", "closest_m", "shift_up_hz"])
def test_others_have_none(name: str) -> None:
    assert _row(name, 10.0, 11.0).cents is None


def test_what_went_into_the_measurement_is_not_tested() -> None:
    r = _row("closest_m", 2.0, 2.0, used=True)
    assert r.verdict == UNTESTED
    assert math.isnan(r.e_n)
    assert r.sentence.startswith("Closest distance: used in the measurement")


def test_the_speed_of_sound_is_never_tested() -> None:
    r = _row("sound_speed_mps", 343.0, 353.0)
    assert r.verdict == UNTESTED
    assert math.isnan(r.e_n)
    assert "the same value serves both sides" in r.sentence


def test_without_any_uncertainty_there_is_no_test() -> None:
    shared = uncertain(200.0, 3.0, "shared")
    r = row("approach_hz", shared, shared + 1.0, False)
    assert r.difference.u == 0
    assert r.verdict == UNTESTED


def test_a_small_uncertainty_is_an_uncertainty() -> None:
    # 0.3 and 0.4 make 0.5, below one
    r = row("speed_mps", uncertain(5.0, 0.3, "a"), uncertain(5.5, 0.4, "b"), False)
    assert r.e_n == pytest.approx(0.5)


def test_nothing_is_a_percentage_of_zero() -> None:
    assert math.isnan(_row("passing_time_s", 0.0, 1.0).percent)


def test_the_verdict_names_what_is_off(tone: Setup) -> None:
    p = predict(tone)
    c = compare_heard(
        p,
        heard_by_ear(
            Quantity(1.03 * p.approach_hz.value, 0.3, "Hz"),
            Quantity(1.03 * p.recede_hz.value, 0.3, "Hz"),
        ),
    )
    assert c.overall == DISAGREE
    labels = [r.label for r in c.rows if r.verdict == DISAGREE]
    assert len(labels) >= 3
    assert c.verdict == (
        f"Prediction and recording do not agree in {', '.join(labels[:-1])} and {labels[-1]}: "
        "something is off."
    )


@pytest.mark.parametrize("speed_u", [0.15, 2.5])
def test_agreement_says_what_would_have_shown(tone: Setup, heard: Heard, speed_u: float) -> None:
    setup = tone.with_entry("motion.speed", Entry(9.0, "m/s", u=speed_u))
    p = predict(setup)
    c = compare(p, heard(p.approach_hz.value, p.recede_hz.value))
    speed = c.row("speed_mps")
    assert speed is not None
    allowed = 100.0 * 2.0 * speed.difference.u / 9.0
    assert f"of more than about {allowed:.1f} % would have shown." in c.verdict
    assert ("That is a weak test." in c.verdict) == (speed_u > 1)


def test_one_row_outside_while_the_whole_agrees_is_borderline(tone: Setup) -> None:
    setup = tone.with_entry("motion.speed", Entry(9.0, "m/s", u=0.02))
    p = predict(setup)
    # both pitches up: only their common level is off, by a little over two uncertainties
    up = 2.2 * math.hypot(p.approach_hz.u, 0.3)
    c = compare_heard(
        p,
        heard_by_ear(
            Quantity(p.approach_hz.value + up, 0.3, "Hz"),
            Quantity(p.recede_hz.value + up, 0.3, "Hz"),
        ),
    )
    off = [r.label for r in c.rows if r.verdict == DISAGREE]
    assert c.overall == BORDERLINE
    assert len(off) > 1
    assert f"{' and '.join(off[-2:])} lie just outside their uncertainties." in c.verdict


def test_the_taped_distance_is_not_tested_where_it_was_used(tone: Setup, heard: Heard) -> None:
    setup = tone.with_entry("microphone.distance", Entry(2.0, "m", u=0.05))
    p = predict(setup)
    recording = heard(p.approach_hz.value, p.recede_hz.value)
    used, free = compare(p, recording, closest_used=True), compare(p, recording)
    for c, verdict in ((used, UNTESTED), (free, AGREE)):
        found = {r.name: r.verdict for r in c.rows}
        assert found["closest_m"] == verdict
        assert found["speed_mps"] == AGREE


def test_turned_round_in_the_unit_the_user_chose(heard: Heard, wheel: Setup) -> None:
    entries = {k: e for k, e in wheel.entries.items() if not k.startswith("source.roll")}
    setup = Setup(
        "wheel", "humid-air", entries | {"source.loaded_radius": Entry(320.0, "mm", u=3.0)}
    )
    p = predict(setup)
    c = compare(p, heard(p.approach_hz.value / 1.02, p.recede_hz.value / 1.02))
    (turned,) = c.turned_round
    assert turned.value.unit == turned.given.unit == "mm"
    assert turned.value.value == pytest.approx(320.0 * 1.02, rel=1e-6)
    assert turned.sentence.startswith("Your wheel's effective radius is then 326.")
    assert turned.sentence.endswith("(by hand 320.0 ± 3.0 mm).")


def test_by_ear_no_distance_was_used(tone: Setup) -> None:
    p = predict(tone.with_entry("microphone.distance", Entry(2.0, "m", u=0.05)))
    by_ear = heard_by_ear(
        Quantity(p.approach_hz.value, 0.3, "Hz"), Quantity(p.recede_hz.value, 0.3, "Hz")
    )
    found = compare_heard(p, replace(by_ear, closest_m=Quantity(2.0, 0.1, "m"))).row("closest_m")
    assert found is not None
    assert found.verdict == AGREE


def test_one_row_outside_is_told_in_the_singular() -> None:
    rows = (_row("approach_hz", 200.0, 211.0), _row("recede_hz", 200.0, 205.0))
    sentence = _verdict(BORDERLINE, rows)
    assert sentence.endswith("agree, but approach pitch lies just outside its uncertainties.")
    assert "do not agree in approach pitch: something" in _verdict(DISAGREE, rows)
    three = (*rows, _row("source_hz", 200.0, 220.0), _row("speed_mps", 5.0, 50.0))
    assert "in approach pitch, source pitch and speed: something" in _verdict(DISAGREE, three)
    assert "when approach and recede are taken together" in _verdict(DISAGREE, rows[1:])
    assert "no far pitch" in _verdict(UNTESTED, rows)
