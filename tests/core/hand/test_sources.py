"""Every kind of source: formulas against physics, both ways, and its worked steps."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from wayside.errors import SetupError
from wayside.hand.methods import compare_methods
from wayside.hand.model import evaluate, linear_values
from wayside.hand.monte_carlo import monte_carlo
from wayside.hand.predict import predict
from wayside.hand.setup import fields_of, sections_of
from wayside.hand.setup_json import setup_from_json, setup_to_json
from wayside.hand.sources import SOURCE_KINDS
from wayside.hand.sources.whirled import speed_towards
from wayside.hand.texts import translatable
from wayside.hand.units import find_unit

AIR = {"formula": "ideal-gas", "temperature": {"value": 18, "unit": "°C", "u": 0.5}}
SPEED = {"speed": {"value": 8.0, "unit": "m/s", "u": 0.1}}
PITCH = {"value": 700.0, "unit": "Hz", "u": 1.0}

SOURCES: dict[str, dict[str, Any]] = {
    "wheel": {
        "count": {"value": 62},
        "rollout": {"value": 10.05, "unit": "m", "u": 0.02},
        "rollout_turns": {"value": 5},
    },
    "tone": {"pitch": PITCH},
    "siren-disk": {
        "holes": {"value": 24},
        "turn_rate": {"value": 1750, "unit": "rpm", "u": 15},
    },
    "engine": {
        "cylinders": {"value": 4},
        "strokes": {"value": 4},
        "engine_speed": {"value": 3000, "unit": "rpm", "u": 40},
    },
    "moving-observer": {"pitch": PITCH},
    "both-moving": {
        "pitch": PITCH,
        "observer_speed": {"value": -3.0, "unit": "m/s", "u": 0.1},
    },
    "whirled": {
        "pitch": PITCH,
        "circle_radius": {"value": 0.9, "unit": "m", "u": 0.01},
        "turns": {"value": 10},
        "turns_time": {"value": 6.4, "unit": "s", "u": 0.1},
        "listener_distance": {"value": 5, "unit": "m", "u": 0.1},
    },
}


def data_of(kind: str, **air: Any) -> dict[str, Any]:
    data = {"format": "wayside-setup", "version": 1, "source": {"kind": kind, **SOURCES[kind]}}
    return data | {"air": AIR | air} | ({"motion": SPEED} if kind != "whirled" else {})


@pytest.mark.parametrize("kind", SOURCE_KINDS)
def test_every_kind_reads_writes_predicts_and_samples(kind: str) -> None:
    data = data_of(kind)
    setup = setup_from_json(data)
    assert setup_to_json(setup) == data
    p = predict(setup)
    assert p.approach_hz.value > p.source_hz.value > p.recede_hz.value
    for name, sampled in monte_carlo(p, draws=20_000).results.items():
        linear = getattr(p, name)
        assert sampled.u == pytest.approx(linear.u, rel=0.05, abs=1e-9), name
        assert sampled.mean == pytest.approx(linear.value, abs=0.1 * linear.u + 1e-6), name
    assert compare_methods(p).shortcuts is not None


@pytest.mark.parametrize("kind", SOURCE_KINDS)
@pytest.mark.parametrize("wind", [False, True])
def test_every_step_can_be_worked_with_a_calculator(kind: str, wind: bool) -> None:
    air = {"wind_along": {"value": -2.0, "unit": "m/s", "u": 0.5}} if wind else {}
    for step in predict(setup_from_json(data_of(kind, **air))).steps:
        assert not re.search(r"<\w+>", step.text + step.latex)
        assert step.latex.count("{") == step.latex.count("}")
        assert "−" not in step.latex
        if not step.numbers:
            assert step.formula == step.result
            continue
        plain = re.sub(
            r"(?<=[\d)]) (m/s per °C|frames/s|rev/s|°C|m/s|Hz|/m|m|s|%|Pa)(?=[ )]|$)",
            "",
            step.numbers.split(" = ", 1)[1],
        )
        plain = plain.replace("×", "*").replace("−", "-").replace("2π", "2*math.pi")
        worked = eval(plain.replace("√", "math.sqrt"), {"math": math})
        assert worked == pytest.approx(
            step.quantity.value, rel=5e-3, abs=step.quantity.u + 0.005 * abs(step.quantity.value)
        ), step.text


@pytest.mark.parametrize("kind", [k for k in SOURCE_KINDS if k != "whirled"])
@pytest.mark.parametrize("wind", [0.0, 6.0])
def test_back_solving_undoes_the_prediction(kind: str, wind: float) -> None:
    setup = setup_from_json(data_of(kind, wind_along={"value": wind, "unit": "m/s", "u": 0.1}))
    plain = {i.path: i.value for i in setup.inputs}
    given_, outcome = evaluate(setup, plain, setup.inputs)
    assert setup.kind.back_solve is not None
    speed, source = setup.kind.back_solve(outcome.approach, outcome.recede, given_)
    assert speed == pytest.approx(8.0, rel=1e-9)
    assert source == pytest.approx(outcome.source, rel=1e-9)
    for item in setup.kind.implied(given_.x, given_.way, speed, source):
        assert item.value == pytest.approx(plain[item.path], rel=1e-9)


def test_siren_disk_and_engine_follow_plain_counting() -> None:
    assert predict(setup_from_json(data_of("siren-disk"))).source_hz.value == pytest.approx(700.0)
    # four cylinders, each firing every second of fifty turns a second
    assert predict(setup_from_json(data_of("engine"))).source_hz.value == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("kind", "key", "entry", "field"),
    [
        ("engine", "strokes", {"value": 3}, "source.strokes"),
        (
            "both-moving",
            "observer_speed",
            {"value": -9.0, "unit": "m/s", "u": 0.1},
            "source.observer_speed",
        ),
        (
            "whirled",
            "listener_distance",
            {"value": 0.5, "unit": "m", "u": 0.01},
            "source.listener_distance",
        ),
        ("whirled", "circle_radius", {"value": 9.9, "unit": "m", "u": 9}, "source"),
    ],
)
def test_what_makes_no_sense_is_refused_at_its_field(
    kind: str, key: str, entry: dict[str, Any], field: str
) -> None:
    data = data_of(kind)
    data["source"][key] = entry
    with pytest.raises(SetupError) as caught:
        setup_from_json(data)
    assert caught.value.field.startswith(field)


def test_motion_is_refused_where_nothing_runs_on_a_track() -> None:
    with pytest.raises(SetupError, match="motion"):
        setup_from_json(data_of("whirled") | {"motion": SPEED})


@given(
    radius=st.floats(0.3, 2.0),
    rate=st.floats(0.3, 4.0),
    far=st.floats(1.3, 20.0),
    height=st.floats(-3.0, 3.0),
)
def test_whirled_source_by_tracing_the_sound(
    radius: float, rate: float, far: float, height: float
) -> None:
    """Against the distance traced over a whole turn: its steepest change is v_m."""
    x = {
        "source.circle_radius": radius,
        "source.turns": rate,
        "source.turns_time": 1.0,
        "source.listener_distance": far * radius,
        "source.listener_height": height,
    }
    angle = np.linspace(0.0, 2.0 * math.pi, 40_001)
    r = np.sqrt(
        (far * radius - radius * np.cos(angle)) ** 2 + (radius * np.sin(angle)) ** 2 + height**2
    )
    fastest = np.max(np.abs(np.diff(r))) / (angle[1] / (2.0 * math.pi * rate))
    assert speed_towards(x) == pytest.approx(fastest, rel=1e-4)


def test_whirled_pitch_heard_by_retarded_time() -> None:
    """The highest pitch heard, from the times at which successive waves arrive."""
    p = predict(setup_from_json(data_of("whirled")))
    c, r, far = p.sound_speed_mps.value, 0.9, 5.0
    omega = 2.0 * math.pi * 10 / 6.4
    sent = np.arange(0.0, 0.7, 1.0 / 700.0)
    distance = np.hypot(far - r * np.cos(omega * sent), r * np.sin(omega * sent))
    heard = 1.0 / np.diff(sent + distance / c)
    assert p.approach_hz.value == pytest.approx(heard.max(), rel=2e-5)
    assert p.recede_hz.value == pytest.approx(heard.min(), rel=2e-5)


def test_moving_observer_and_source_differ_in_second_order() -> None:
    source = predict(setup_from_json(data_of("tone")))
    observer = predict(setup_from_json(data_of("moving-observer")))
    ratio = 8.0 / source.sound_speed_mps.value
    assert source.approach_hz.value / observer.approach_hz.value == pytest.approx(
        1.0 / (1.0 - ratio**2), rel=1e-12
    )
    assert observer.shift_up_hz.value == pytest.approx(observer.shift_down_hz.value)


def test_both_moving_by_tracing_the_waves() -> None:
    """Two waves sent far before the meeting: the time between their arrivals."""
    p = predict(setup_from_json(data_of("both-moving")))
    c, vs, vo = p.sound_speed_mps.value, 8.0, -3.0

    def arrival(sent: float) -> float:
        # source at vs t, observer at 500 m - vo t: wave front meets observer
        return float(brentq(lambda t: vs * sent + c * (t - sent) - (500.0 - vo * t), sent, 10.0))

    period = 1.0 / 700.0
    assert p.approach_hz.value == pytest.approx(1.0 / (arrival(period) - arrival(0.0)), rel=1e-7)


@pytest.mark.parametrize("kind", SOURCE_KINDS)
def test_every_field_has_words_a_translator_can_find(kind: str) -> None:
    words = translatable()
    for path, field in fields_of(kind).items():
        assert words[f"{path}:label"] == field.label
        assert len(words[f"{path}:hint"]) > 15
        assert find_unit(field.dimension, field.unit) is not None
    for section in sections_of(kind):
        assert section.label in words.values()


def test_sensitivities_are_traced_for_exact_inputs_too() -> None:
    setup = setup_from_json(data_of("siren-disk"))
    values = linear_values(setup.inputs)
    _, outcome = evaluate(setup, values, setup.inputs)
    assert predict(setup).budget["source_hz"][-1].path == "source.holes"
    assert outcome.source.derivatives[values["source.holes"]] == pytest.approx(1750 / 60)
