"""Prediction against measurement: agreement, shared inputs, one-sided recordings."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from wayside.compare.compare import compare, options_for
from wayside.compare.comparison_json import comparison_as_json
from wayside.compare.comparison_text import comparison_as_text
from wayside.compare.heard import heard_in
from wayside.compare.result import AGREE, DISAGREE, UNTESTED
from wayside.errors import InputError
from wayside.hand.entry import Entry
from wayside.hand.model import evaluate
from wayside.hand.predict import predict
from wayside.hand.setup import Setup
from wayside.measure.result import Measurement, ReadingWindow, TwoWindow
from wayside.quantity import Quantity

Heard = Callable[..., Measurement]


def test_a_recording_that_matches_agrees_in_every_row(wheel: Setup, heard: Heard) -> None:
    p = predict(wheel)
    c = compare(p, heard(p.approach_hz.value, p.recede_hz.value))
    assert c.overall == AGREE
    for row in c.rows:
        if row.name in ("closest_m", "passing_time_s"):
            continue
        assert row.measured.value == pytest.approx(row.predicted.value, rel=1e-9), row.name
        assert row.verdict == (UNTESTED if row.name == "sound_speed_mps" else AGREE)
    assert c.p_value == pytest.approx(1.0)
    assert max(abs(e.off) for e in c.explanations) < 1e-3


@pytest.mark.parametrize("c_used", [330.0, 343.2, 355.0])
def test_speed_is_worked_out_with_the_set_ups_sound_speed(
    wheel: Setup, heard: Heard, c_used: float
) -> None:
    p = predict(wheel)
    c = compare(p, heard(p.approach_hz.value, p.recede_hz.value, c=c_used))
    row = c.row("speed_mps")
    assert row is not None
    assert row.difference.value == pytest.approx(0.0, abs=1e-9)


def test_shared_sound_speed_is_counted_once(tone: Setup, heard: Heard) -> None:
    """By sampling: draw every input and the heard pitches, look at the spread of the difference."""
    p = predict(tone)
    u = 0.3
    comparison = compare(p, heard(p.approach_hz.value, p.recede_hz.value, u))
    rng = np.random.default_rng(5)
    n = 200_000
    inputs = tone.inputs
    values = {i.path: i.value + i.u * rng.standard_normal(n) for i in inputs}
    given, outcome = evaluate(tone, values, inputs)
    approach = p.approach_hz.value + u * rng.standard_normal(n)
    recede = p.recede_hz.value + u * rng.standard_normal(n)
    assert tone.kind.back_solve is not None
    speed, source = tone.kind.back_solve(approach, recede, given)
    spreads = {
        "speed_mps": np.std(speed - outcome.speed),
        "source_hz": np.std(source - outcome.source),
        "approach_hz": np.std(approach - outcome.approach),
        "drop_cents": np.std(1200 * np.log2(approach / recede * outcome.recede / outcome.approach)),
    }
    for name, spread in spreads.items():
        row = comparison.row(name)
        assert row is not None
        assert row.difference.u == pytest.approx(float(spread), rel=0.02), name


def test_correlation_of_heard_pitches_follows_from_their_harmonic_mean(heard: Heard) -> None:
    assert heard_in(heard(452.0, 428.0)).correlation == pytest.approx(0.0, abs=0.01)


def test_p_value_is_uniform_when_all_is_well(wheel: Setup, heard: Heard) -> None:
    p = predict(wheel)
    rng = np.random.default_rng(11)
    inputs = wheel.inputs
    values = {i.path: i.value + i.u * rng.standard_normal(300) for i in inputs}
    _, outcome = evaluate(wheel, values, inputs)
    noise = 0.4 * rng.standard_normal((2, 300))
    p_values = [
        compare(p, heard(float(a), float(r), 0.4)).p_value
        for a, r in zip(outcome.approach + noise[0], outcome.recede + noise[1], strict=True)
    ]
    assert np.mean(np.array(p_values) < 0.0455) == pytest.approx(0.0455, abs=0.035)
    assert np.mean(p_values) == pytest.approx(0.5, abs=0.07)


def test_few_repeats_widen_what_is_allowed(wheel: Setup, heard: Heard) -> None:
    def timed(readings: tuple[float, ...]) -> Setup:
        return wheel.with_entry("motion.second_time", Entry(None, "s", readings=readings))

    few, many = timed((5.00, 5.05, 5.10)), timed((5.00, 5.05, 5.10) * 20)
    p = predict(few)
    recording = heard(p.approach_hz.value, p.recede_hz.value)
    few_row, many_row = (compare(s, recording).row("speed_mps") for s in (few, many))
    assert few_row is not None
    assert many_row is not None
    assert 2.5 < few_row.k < 4.53
    assert many_row.k < 2.1
    shifted = heard(1.1 * p.approach_hz.value, 1.1 * p.recede_hz.value)
    assert compare(few, shifted).p_value > compare(many, shifted).p_value


def test_one_sided_recording_compares_the_pitch_it_has(tone: Setup, heard: Heard) -> None:
    p = predict(tone)
    c = compare(p, heard(p.approach_hz.value, 0.9 * p.recede_hz.value, u_recede=math.inf))
    assert c.row("recede_hz") is None
    assert c.row("speed_mps") is None
    assert c.dof == 1
    assert c.overall == AGREE
    assert any("only one far pitch" in note for note in c.notes)


def test_two_window_reading_serves_without_a_fit(tone: Setup, heard: Heard) -> None:
    p = predict(tone)

    def window(q: Quantity) -> ReadingWindow:
        return ReadingWindow(0.0, 1.0, Quantity(q.value, 0.5, "Hz"), math.nan)

    two = TwoWindow(window(p.approach_hz), window(p.recede_hz), p.speed_mps, p.source_hz)
    c = compare(p, heard(1.0, 1.0, fit=None, two_window=two))
    assert c.overall == AGREE
    assert any("reading windows" in note for note in c.notes)


def test_nothing_found_is_refused(tone: Setup, heard: Heard) -> None:
    with pytest.raises(InputError, match="No glide stands out"):
        compare(tone, heard(450.0, 430.0, found=False))
    with pytest.raises(InputError):
        compare(tone, heard(450.0, 430.0, fit=None))
    with pytest.raises(InputError, match="harmonic"):
        compare(tone, heard(450.0, 430.0), harmonic=0)


@pytest.mark.parametrize("factor", [2.0, 3.0, 0.5])
def test_whole_multiples_are_named(wheel: Setup, heard: Heard, factor: float) -> None:
    p = predict(wheel)
    c = compare(p, heard(factor * p.approach_hz.value, factor * p.recede_hz.value))
    assert c.overall == DISAGREE
    assert any(f"{max(factor, 1 / factor):.0f} times" in note for note in c.notes)
    if factor > 1:
        again = compare(
            p, heard(factor * p.approach_hz.value, factor * p.recede_hz.value), int(factor)
        )
        assert again.overall == AGREE


def test_measured_wheel_is_turned_round(wheel: Setup, heard: Heard) -> None:
    p = predict(wheel)
    wider = 1.05
    c = compare(p, heard(p.approach_hz.value / wider, p.recede_hz.value / wider))
    (turned,) = c.turned_round
    assert turned.path == "source.rollout"
    # the same speed with a lower hum: the wheel rolls further per turn
    assert turned.value.value == pytest.approx(10.05 * wider, rel=1e-6)
    assert turned.given.value == pytest.approx(10.05, rel=1e-9)


def test_slowing_between_markers_and_microphone_is_said(wheel: Setup, heard: Heard) -> None:
    p = predict(wheel)
    recording = heard(p.approach_hz.value, p.recede_hz.value)
    assert recording.fit is not None
    slowing = replace(recording.fit, acceleration_mps2=Quantity(-0.3, 0.02, "m/s^2"))
    recording = replace(recording, fit=slowing)
    assert any("does not say where the microphone" in n for n in compare(p, recording).notes)
    placed = wheel.with_entry("microphone.position", Entry(10.0, "m", u=0.1))
    (note,) = (n for n in compare(placed, recording).notes if "slows" in n)
    # 4 m after the middle at 6.49 m/s, losing 0.3 m/s each second
    assert f"−{0.3 * 4 / p.speed_mps.value:.3g} m/s" in note
    centred = wheel.with_entry("microphone.position", Entry(6.0, "m", u=0.1))
    assert not any("slows" in n for n in compare(centred, recording).notes)


def test_what_is_tested_is_not_told_to_the_measurement(wheel: Setup) -> None:
    options = options_for(predict(wheel))
    assert options.cycles_per_metre is None
    assert options.source_kind == "wheel"
    assert options.sound_speed == predict(wheel).sound_speed_mps


def test_text_and_json_carry_the_verdict(wheel: Setup, heard: Heard) -> None:
    p = predict(wheel)
    for factor in (1.0, 1.2):
        c = compare(p, heard(factor * p.approach_hz.value, p.recede_hz.value))
        assert c.verdict in comparison_as_text(c)
        values = json.loads(json.dumps(comparison_as_json(c), allow_nan=False))
        assert values["overall"] == c.overall
        assert values["rows"]["approach_hz"]["measured"]["value"] == pytest.approx(
            factor * p.approach_hz.value
        )
