"""Set-ups of a scenario of our own: a cargo bike on a sports-ground lane."""

from __future__ import annotations

from typing import Any

import pytest


def value(number: float, unit: str = "", u: float | None = None, **more: Any) -> dict[str, Any]:
    entry: dict[str, Any] = {"value": number}
    if unit:
        entry["unit"] = unit
    if u is not None:
        entry["u"] = u
    return entry | more


@pytest.fixture
def wheel_data() -> dict[str, Any]:
    return {
        "format": "wayside-setup",
        "version": 1,
        "title": "Cargo bike on the sports-ground lane",
        "motion": {
            "marker_distance": value(12.0, "m", 0.02),
            "first_time": value(3.20, "s", 0.01),
            "second_time": value(5.05, "s", 0.01),
        },
        "source": {
            "kind": "wheel",
            "count": value(62),
            "nominal_diameter": value(26, "in", 0.1),
            "squash": value(0.4, "in", half_width=0.2),
        },
        "air": {"formula": "humid-air", "temperature": value(61, "°F", 1.0)},
        "microphone": {"distance": value(2.1, "m", 0.05), "position": value(6, "m", 0.1)},
    }


@pytest.fixture
def tone_data() -> dict[str, Any]:
    return {
        "format": "wayside-setup",
        "version": 1,
        "motion": {"speed": value(9.0, "m/s", 0.1)},
        "source": {"kind": "tone", "pitch": value(440.0, "Hz", 0.5)},
        "air": {"formula": "rule-of-thumb", "temperature": value(20.0, "°C", 0.5)},
    }
