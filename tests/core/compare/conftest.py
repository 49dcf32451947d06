"""Set-ups and hand-built measurements for the comparison."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_from_json
from wayside.measure.result import Detection, Fit, Measurement
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

Heard = Callable[..., Measurement]


@pytest.fixture
def wheel() -> Setup:
    return setup_from_json(
        {
            "format": "wayside-setup",
            "version": 1,
            "motion": {
                "marker_distance": {"value": 12.0, "unit": "m", "u": 0.03},
                "first_time": {"value": 3.20, "unit": "s", "u": 0.008},
                "second_time": {"value": 5.05, "unit": "s", "u": 0.008},
            },
            "source": {
                "kind": "wheel",
                "count": {"value": 62},
                "rollout": {"value": 10.05, "unit": "m", "u": 0.02},
                "rollout_turns": {"value": 5},
            },
            "air": {"formula": "humid-air", "temperature": {"value": 16, "unit": "°C", "u": 0.5}},
        }
    )


@pytest.fixture
def tone() -> Setup:
    return setup_from_json(
        {
            "format": "wayside-setup",
            "version": 1,
            "motion": {"speed": {"value": 9.0, "unit": "m/s", "u": 0.15}},
            "source": {"kind": "tone", "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8}},
            "air": {
                "formula": "ideal-gas",
                "temperature": {"value": 68, "unit": "°F", "u": 1.0},
                "wind_along": {"value": 2, "unit": "m/s", "u": 0.5},
            },
        }
    )


@pytest.fixture
def heard() -> Heard:
    """Return a maker of measurements from two far pitches (Hz) and their uncertainty."""

    def make(approach: float, recede: float, u: float = 0.05, **more: Any) -> Measurement:
        c = more.pop("c", 343.2)
        f0 = 2 * approach * recede / (approach + recede)
        v = c * (approach - recede) / (approach + recede)
        u_recede = more.pop("u_recede", u)
        fit = Fit(
            PassBy(f0, v, 2.0, 4.0, c),
            Quantity(approach, u, "Hz"),
            Quantity(recede, u_recede, "Hz"),
            Quantity(f0, u / math.sqrt(2), "Hz"),
            Quantity(v, 0.05, "m/s"),
            Quantity(2.0, 0.1, "m"),
            Quantity(4.0, 0.01, "s"),
            Quantity(0.0, 0.0, "m/s^2"),
            "fixed",
            "coherent",
            math.inf,
            np.eye(4),
            np.zeros(0),
            np.zeros(0),
            np.zeros(0),
        )
        values = {"found": True, "fit": fit} | more
        return Measurement(
            detection=Detection(9.0, 3.0, 1e-3, "No glide stands out."),
            sound_speed_mps=Quantity(c, 3.0, "m/s"),
            **values,
        )

    return make
