"""What the formulas for the speed of sound say of themselves, against sums done here."""

from __future__ import annotations

import math

import pytest

from wayside.physics.air import (
    AMBIENT_CO2,
    STANDARD_PRESSURE_PA,
    humid_air,
    ideal_gas,
    model_uncertainty,
    rule_of_thumb,
)

TEMPERATURES = (-20.0, -0.1, 0.0, 10.0, 20.0, 30.0, 30.1, 45.0)


def _dry(t: float) -> float:
    return humid_air(t, 0.0, STANDARD_PRESSURE_PA, AMBIENT_CO2)


def _own(t: float) -> float:
    # Cramer 1993: 300 ppm from 0 to 30 °C; beyond, its distance from the ideal gas (ISO 9613-1)
    beyond = 0.0 if 0.0 <= t <= 30.0 else _dry(t) - ideal_gas(t)
    return math.sqrt((300e-6 * _dry(t)) ** 2 + beyond**2)


@pytest.mark.parametrize("t", TEMPERATURES)
def test_humid_air(t: float) -> None:
    assert model_uncertainty("humid-air", t) == pytest.approx(_own(t), rel=1e-9)


@pytest.mark.parametrize("t", TEMPERATURES)
@pytest.mark.parametrize(
    ("key", "formula"), [("ideal-gas", ideal_gas), ("rule-of-thumb", rule_of_thumb)]
)
def test_simple_formulas_add_the_humidity_they_leave_out(key: str, formula, t: float) -> None:
    """JCGM 100:2008, 4.3.7: limits +-a have standard uncertainty a/sqrt(3)."""
    shares = (0.0, 0.25, 0.5, 0.75, 1.0)
    distances = [
        abs(humid_air(t, h, STANDARD_PRESSURE_PA, AMBIENT_CO2) - formula(t)) for h in shares
    ]
    expected = math.sqrt(_own(t) ** 2 + max(distances) ** 2 / 3.0)
    assert model_uncertainty(key, t) == pytest.approx(expected, rel=1e-6)
