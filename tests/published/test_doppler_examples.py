"""Worked examples of the Doppler effect from published textbooks."""

from __future__ import annotations

from typing import Any

import pytest
from scipy.optimize import brentq

from wayside.hand.predict import predict
from wayside.hand.setup_json import setup_from_json
from wayside.physics.limits import far_limits, source_from_limits
from wayside.physics.passby import speed_from_limits


def _passing(kind: dict[str, Any], speed: float, unit: str, temp_c: float) -> dict[str, Any]:
    return {
        "format": "wayside-setup",
        "version": 1,
        "motion": {"speed": {"value": speed, "unit": unit, "u": 0}},
        "source": kind,
        "air": {
            "formula": "rule-of-thumb",
            "temperature": {"value": temp_c, "unit": "°C", "u": 0},
            "wind_along": {"value": 0, "unit": "m/s", "u": 0},
        },
    }


def test_train_horn_past_a_platform() -> None:
    """OpenStax, University Physics 1, 17.7 / College Physics, 17.4: 150 Hz, 35.0 m/s, c 340.

    Published answers 167 Hz and 136 Hz. The rule of thumb gives 340 m/s at 15 °C.
    """
    tone = {"kind": "tone", "pitch": {"value": 150, "unit": "Hz", "u": 0}}
    p = predict(setup_from_json(_passing(tone, 35.0, "m/s", 15.0)))
    assert p.sound_speed_mps.value == pytest.approx(340.0, abs=1e-9)
    assert p.approach_hz.value == pytest.approx(167, abs=0.5)
    assert p.recede_hz.value == pytest.approx(136, abs=0.5)


def test_speed_back_solved_from_one_pitch() -> None:
    """OpenStax, University Physics 1, chapter 17: a 200 Hz horn heard as 208 Hz, c 335.

    Published answers: 12.9 m/s, and 193 Hz once it has passed.
    """
    speed = brentq(lambda v: far_limits(200.0, 335.0, 335.0, v, 0.0)[0] - 208.0, 0.0, 100.0)
    assert speed == pytest.approx(12.9, abs=0.05)
    recede = far_limits(200.0, 335.0, 335.0, speed, 0.0)[1]
    assert recede == pytest.approx(193, abs=0.5)
    for back in (
        source_from_limits(208.0, recede, 335.0, 335.0, 0.0),
        speed_from_limits(208.0, recede, 335.0),
    ):
        assert back == pytest.approx((speed, 200.0), rel=1e-9)


def test_moving_observer() -> None:
    """Fitzpatrick, Newtonian Mechanics, example 13.4: 80 km/h past a 500 Hz source, c 343.

    Published answers: 532.39 Hz and 467.61 Hz.
    """
    approach, recede = far_limits(500.0, 343.0, 343.0, 0.0, 80 / 3.6)
    assert approach == pytest.approx(532.39, abs=0.005)
    assert recede == pytest.approx(467.61, abs=0.005)
