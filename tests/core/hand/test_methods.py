"""What shortcuts cost: against their known size, and against the pass-by itself."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.hand.methods import compare_methods, near_readings, passby_of
from wayside.hand.predict import predict
from wayside.hand.setup_json import setup_from_json
from wayside.hand.wind import wind_effects


def _tone(speed: float, distance: float | None = None) -> dict[str, Any]:
    data: dict[str, Any] = {
        "format": "wayside-setup",
        "version": 1,
        "motion": {"speed": {"value": speed, "unit": "m/s", "u": 0.01}},
        "source": {"kind": "tone", "pitch": {"value": 440.0, "unit": "Hz", "u": 0.5}},
        "air": {"formula": "rule-of-thumb", "temperature": {"value": 20, "unit": "°C", "u": 0.5}},
    }
    if distance is not None:
        data["microphone"] = {"distance": {"value": distance, "unit": "m", "u": 0.05}}
    return data


@given(speed=st.floats(1.0, 60.0))
def test_shortcuts_err_by_the_square_of_the_mach_number(speed: float) -> None:
    p = predict(setup_from_json(_tone(speed)))
    mach2 = (speed / 343.0) ** 2
    by_way = {s.way: s for s in compare_methods(p).shortcuts}
    assert by_way["midpoint of the two pitches"].error == pytest.approx(
        440.0 * mach2 / (1 - mach2), rel=1e-6
    )
    # exact: f0 (1 + M) = fa (1 - M^2)
    low = by_way["small-speed formula f₀(1 + v/c)"]
    assert low.percent == pytest.approx(-100 * mach2, rel=1e-6)
    assert by_way["small-speed formula v = c(f_a − f₀)/f₀"].shortcut == pytest.approx(
        speed / (1 - speed / 343.0), rel=1e-9
    )


def test_reading_near_the_microphone_makes_the_speed_small() -> None:
    p = predict(setup_from_json(_tone(9.0, 2.0)))
    near = near_readings(p)
    # at k distances the source moves k/sqrt(1 + k^2) of its speed along the line of sight
    for n in near:
        share = n.multiple / (1 + n.multiple**2) ** 0.5
        assert n.speed_percent == pytest.approx(100 * (share - 1), abs=0.02)
    assert [n.speed_percent for n in near] == sorted(n.speed_percent for n in near)


def test_no_distance_no_near_reading() -> None:
    assert compare_methods(predict(setup_from_json(_tone(9.0)))).near == ()


def test_pass_by_has_the_predicted_limits() -> None:
    p = predict(setup_from_json(_tone(9.0)))
    by = passby_of(p, 2.0)
    assert by.approach_hz == pytest.approx(p.approach_hz.value, rel=1e-12)
    assert by.recede_hz == pytest.approx(p.recede_hz.value, rel=1e-12)


def test_rounding_harder_costs_more(wheel_data: dict[str, Any]) -> None:
    rounding = compare_methods(predict(setup_from_json(wheel_data))).rounding
    by_way = {s.way: abs(s.error) for s in rounding if s.name == "approach_hz"}
    assert by_way["every step rounded to the digits shown"] < 0.05
    assert (
        by_way["every step rounded to two digits"]
        > by_way["every step rounded to the digits shown"]
    )


def test_wind_hardly_spoils_two_pitches_but_does_spoil_one() -> None:
    # exact: with wind w along the track fa = f0 A/(A - v), fr = f0 B/(B + v), A = c + w, B = c - w;
    # c (fa - fr)/(fa + fr) is then v c^2/(c^2 - w^2 - w v): second order; c (1 - f0/fa) = v c/A
    p = predict(setup_from_json(_tone(9.0)))
    c, w = p.sound_speed_mps.value, 5.0
    effects = {e.label: e for e in wind_effects(p)}
    behind = effects["5 m/s from behind"]
    assert behind.one_percent == pytest.approx(100 * (c / (c + w) - 1))
    assert behind.both_percent is not None
    assert abs(behind.both_percent) < 0.1
    calm = effects["calm"]
    assert calm.given
    assert calm.both_percent == pytest.approx(0.0, abs=1e-9)
    assert calm.one_percent == pytest.approx(0.0, abs=1e-9)
    assert calm.approach_hz == pytest.approx(p.approach_hz.value)
    side = effects["5 m/s from the side"]
    # across, only c is a little less: sqrt(c^2 - w^2)
    assert side.both_percent == pytest.approx(100 * (c / math.sqrt(c * c - w * w) - 1), rel=1e-6)


def test_the_set_ups_own_wind_comes_first() -> None:
    data = _tone(9.0)
    data["air"]["wind_along"] = {"value": -3.0, "unit": "m/s", "u": 0.5}
    p = predict(setup_from_json(data))
    first = wind_effects(p)[0]
    assert first.given
    assert first.along_mps == -3.0
    assert first.approach_hz == pytest.approx(p.approach_hz.value)
