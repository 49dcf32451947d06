"""The prediction: arithmetic from first principles, correlations, budget, worked steps."""

from __future__ import annotations

import copy
import math
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.hand.model import evaluate
from wayside.hand.predict import predict, results_of
from wayside.hand.prediction_text import prediction_as_text
from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_from_json
from wayside.physics.limits import (
    far_limits,
    observer_from_limits,
    source_from_limits,
    speeds_along_track,
)


def _ways(data: dict[str, Any]) -> list[dict[str, Any]]:
    """Every way of filling in motion and wheel, as separate set-ups."""
    out = []
    source: dict[str, Any] = {"kind": "wheel", "count": {"value": 62}}
    for extra in (
        {"loaded_radius": {"value": 32.0, "unit": "cm", "u": 0.3}},
        {
            "nominal_diameter": {"value": 26, "unit": "in", "u": 0.1},
            "squash": {"value": 10, "unit": "mm", "u": 3},
        },
        {
            "bead_diameter": {"value": 559, "unit": "mm", "u": 1},
            "tyre_width": {"value": 47, "unit": "mm", "u": 1},
            "squash": {"value": 10, "unit": "mm", "u": 3},
        },
        {"rollout": {"value": 10.05, "unit": "m", "u": 0.01}, "rollout_turns": {"value": 5}},
    ):
        out.append({**data, "source": source | extra})
    for motion in (
        {"speed": {"value": 6.5, "unit": "m/s", "u": 0.1}},
        {
            "marker_distance": {"value": 12, "unit": "m", "u": 0.02},
            "first_frame": {"value": 96, "resolution": 1},
            "second_frame": {"value": 151.5, "resolution": 1},
            "frame_rate": {"value": 29.97, "unit": "Hz", "u": 0.1},
        },
    ):
        out.append({**data, "motion": motion})
    return out


@pytest.fixture
def every_way(wheel_data: dict[str, Any], tone_data: dict[str, Any]) -> list[Setup]:
    windy = copy.deepcopy(tone_data)
    windy["air"] |= {
        "wind_along": {"value": 3, "unit": "m/s", "u": 1},
        "wind_across": {"value": 4, "unit": "m/s", "u": 1},
    }
    return [setup_from_json(d) for d in (*_ways(wheel_data), wheel_data, tone_data, windy)]


def test_wheel_prediction_follows_the_plain_arithmetic(wheel_data: dict[str, Any]) -> None:
    p = predict(setup_from_json(wheel_data))
    v = 12.0 / (5.05 - 3.20)
    n = 62 / (2 * math.pi * (26 * 0.0254 / 2 - 0.4 * 0.0254))
    c = p.sound_speed_mps.value
    assert p.speed_mps.value == pytest.approx(v, rel=1e-12)
    assert p.source_hz.value == pytest.approx(v * n, rel=1e-12)
    assert p.approach_hz.value == pytest.approx(v * n / (1 - v / c), rel=1e-12)
    assert p.recede_hz.value == pytest.approx(v * n / (1 + v / c), rel=1e-12)
    assert p.shift_up_hz.value > p.shift_down_hz.value
    assert p.passing_time_s is not None
    assert p.passing_time_s.value == pytest.approx(3.20 + 6.0 / v, rel=1e-12)


def test_every_budget_adds_up_and_agrees_with_finite_differences(every_way: list[Setup]) -> None:
    for setup in every_way:
        p = predict(setup)
        inputs = setup.inputs
        plain = {i.path: i.value for i in inputs}
        for name, lines in p.budget.items():
            if not any(line.u for line in lines):
                continue
            assert sum(line.share for line in lines) == pytest.approx(1.0, abs=1e-9)
            total = math.hypot(*(line.contribution for line in lines))
            assert total == pytest.approx(getattr(p, name).u, rel=1e-9)
        for i in inputs:
            step = 1e-5 * max(abs(i.value), 1.0)
            up, down = (
                results_of(setup, *evaluate(setup, {**plain, i.path: i.value + s}, inputs))
                for s in (step, -step)
            )
            for name, lines in p.budget.items():
                slope = (up[name] - down[name]) / (2 * step) * i.unit.factor
                found = next((x.sensitivity for x in lines if x.path == i.path), 0.0)
                assert found == pytest.approx(slope, rel=1e-4, abs=1e-7), (name, i.path)


def test_correlation_of_the_pitches_is_carried(wheel_data: dict[str, Any]) -> None:
    p = predict(setup_from_json(wheel_data))
    r = p.correlation["approach_hz", "recede_hz"]
    up, down = p.approach_hz, p.recede_hz
    # the interval in cents follows from the covariance, not from independent pitches
    u_ratio = math.sqrt(
        (up.u / up.value) ** 2
        + (down.u / down.value) ** 2
        - 2 * r * up.u * down.u / up.value / down.value
    )
    assert p.drop_cents.u == pytest.approx(1200 / math.log(2) * u_ratio, rel=1e-6)
    assert r > 0.99


def test_a_shared_tape_cancels_in_the_source_pitch(wheel_data: dict[str, Any]) -> None:
    data = _ways(wheel_data)[3]
    data = copy.deepcopy(data)
    for section, key in (("motion", "marker_distance"), ("source", "rollout")):
        data[section][key] |= {"u": 0.0, "tool": "tape"}
    data["tools"] = {"tape": {"value": 0, "unit": "%", "u": 2.0}}
    p = predict(setup_from_json(data))
    shares = {name: {x.path: x.share for x in lines} for name, lines in p.budget.items()}
    assert shares["speed_mps"]["tools.tape"] > 0.5
    assert shares["source_hz"].get("tools.tape", 0.0) < 1e-12


def test_wind_along_bends_both_pitches_the_right_way(tone_data: dict[str, Any]) -> None:
    calm = predict(setup_from_json(tone_data))
    tone_data["air"]["wind_along"] = {"value": 5, "unit": "m/s", "u": 0.5}
    windy = predict(setup_from_json(tone_data))
    # sound that rides the tail wind is stretched: the rise shrinks, and the fall grows
    assert windy.approach_hz.value < calm.approach_hz.value
    assert windy.recede_hz.value < calm.recede_hz.value


@given(
    v=st.floats(0.1, 60),
    f0=st.floats(20, 20000),
    c=st.floats(300, 360),
    along=st.floats(-20, 20),
    across=st.floats(-20, 20),
    observer=st.floats(-30, 60),
)
def test_limits_and_back_solving_are_inverse(
    v: float, f0: float, c: float, along: float, across: float, observer: float
) -> None:
    ahead, behind = speeds_along_track(c, along, across)
    fa, fr = far_limits(f0, ahead, behind, v, observer)
    assert source_from_limits(fa, fr, ahead, behind, observer) == pytest.approx(
        (v, f0), rel=1e-9, abs=1e-9
    )
    fa, fr = far_limits(f0, behind, ahead, 0.0, v)
    assert observer_from_limits(fa, fr, ahead, behind) == pytest.approx((v, f0), rel=1e-9, abs=1e-9)


def test_every_step_shows_formula_numbers_and_result(every_way: list[Setup]) -> None:
    for setup in every_way:
        p = predict(setup)
        for step in (*p.conversions, *p.steps):
            for text in (step.text, step.latex):
                assert not re.search(r"<\w+>", text), text
                assert text.count("(") == text.count(")")
                assert text.count("{") == text.count("}")
            assert step.quantity.u >= 0
        titles = " ".join(step.title for step in p.steps)
        for word in ("Speed", "Pitch of the source", "Speed of sound", "approaches", "recedes"):
            assert word in titles


def test_step_numbers_lead_to_the_step_result(every_way: list[Setup]) -> None:
    """Working a step's own line with a calculator gives its result, to the digits shown."""
    for setup in every_way:
        for step in predict(setup).steps:
            right = step.numbers.partition(" = ")[2]
            if not right or "c(" in right or "p_sv" in right:
                continue
            plain = re.sub(
                r"(?<=[\d)]) (m/s per °C|frames/s|°C|m/s|Hz|/m|m|s|%|Pa)(?=[ )]|$)", "", right
            )
            plain = plain.replace("×", "*").replace("−", "-").replace("2π", "2*math.pi")
            plain = plain.replace("√", "math.sqrt")
            worked = eval(plain, {"math": math})
            slack = 3e-2 * abs(step.quantity.value) if "shift" in step.title.lower() else 0.0
            assert worked == pytest.approx(
                step.quantity.value, rel=5e-3, abs=max(slack, step.quantity.u)
            ), step.text


def test_text_ends_with_the_results_and_says_the_shifts_differ(
    wheel_data: dict[str, Any],
) -> None:
    text = prediction_as_text(predict(setup_from_json(wheel_data)))
    last = text[text.index("Results") :]
    for word in ("speed", "source pitch", "speed of sound", "approach pitch", "recede pitch"):
        assert word in last
    assert "not symmetric" in last


def test_assumptions_are_said_and_carried(wheel_data: dict[str, Any]) -> None:
    p = predict(setup_from_json(wheel_data))
    said = " ".join(p.notes)
    assert "humidity" in said
    assert "wind" in said
    assert any(b.assumed and b.path == "air.humidity" for b in p.budget["sound_speed_mps"])


def test_repeats_show_their_mean_as_a_step(wheel_data: dict[str, Any]) -> None:
    wheel_data["motion"]["first_time"] = {"readings": [3.18, 3.2, 3.22, 3.2], "unit": "s"}
    p = predict(setup_from_json(wheel_data))
    step = next(s for s in p.conversions if "repeats" in s.title)
    assert step.numbers == "t₁ = (3.18 + 3.2 + 3.22 + 3.2) / 4 s"
    assert p.dof["speed_mps"] < 100
