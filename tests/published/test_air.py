"""Speed of sound against published formulas, tables and a reference library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from wayside.physics.air import (
    AIR_FORMULAS,
    HUMID_AIR,
    humid_air,
    ideal_gas,
    model_uncertainty,
    rule_of_thumb,
    sound_speed,
    water_mole_fraction,
)

ATM = 101_325.0


@pytest.mark.parametrize(("temp_c", "speed"), [(0.0, 331.0), (20.0, 343.0)])
def test_rule_of_thumb(temp_c: float, speed: float) -> None:
    """331 + 0.6 T: common practice, no source."""
    assert rule_of_thumb(temp_c) == pytest.approx(speed, abs=1e-12)


def test_ideal_gas_has_the_standard_form() -> None:
    """ISO 9613-1, formula A.5: c = 343.2 sqrt(T/T0), T0 = 293.15 K."""
    assert ideal_gas(20.0) == pytest.approx(343.2, abs=1e-12)
    assert ideal_gas(-10.0) / ideal_gas(30.0) == pytest.approx(math.sqrt(263.15 / 303.15))


def test_humid_air_constant_of_the_dry_polynomial() -> None:
    """Cramer 1993 (coefficients from memory): 331.45 m/s in dry air at 0 °C, 314 ppm CO2."""
    assert humid_air(0.0, 0.0, ATM, 314e-6) == pytest.approx(331.45, abs=0.006)


@pytest.mark.parametrize(
    ("humidity", "co2", "speed"), [(0.0, 314e-6, 343.367), (0.5, 420e-6, 343.985)]
)
def test_humid_air_at_20_celsius(humidity: float, co2: float, speed: float) -> None:
    """Cramer 1993 with Davis 1992 saturation pressure, recomputed apart from this program."""
    assert humid_air(20.0, humidity, ATM, co2) == pytest.approx(speed, abs=0.0006)


@pytest.mark.parametrize(
    ("temp_c", "humidity", "pressure_pa", "co2_ppm", "speed"),
    [
        (0.0, 0.0, ATM, 314, 331.454999),
        (20.0, 0.0, ATM, 314, 343.367184),
        (20.0, 0.5, ATM, 420, 343.984946),
        (30.0, 1.0, ATM, 420, 351.467081),
        (10.0, 0.8, 80e3, 1500, 338.012366),
        (25.0, 0.3, 95e3, 8000, 346.128697),
    ],
)
def test_humid_air_agrees_with_an_acoustics_library(
    temp_c: float, humidity: float, pressure_pa: float, co2_ppm: float, speed: float
) -> None:
    """pyfar 0.8.1, its own coding of Cramer 1993, run apart from this program.

    Tolerance 1 mm/s: it takes an older fit of the saturation pressure.
    """
    ours = humid_air(temp_c, humidity, pressure_pa, co2_ppm * 1e-6)
    assert ours == pytest.approx(speed, abs=1e-3 if humidity else 1e-6)


@pytest.mark.parametrize("temp_c", [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
def test_dry_air_agrees_with_a_reference_library(temp_c: float) -> None:
    """CoolProp's real dry air, as oracle.

    Tolerance 300 ppm: the uncertainty Cramer states for his polynomial. The library's air is
    free of carbon dioxide, and so is the polynomial here.
    """
    oracle = PropsSI("A", "T", temp_c + 273.15, "P", ATM, "Air")
    assert humid_air(temp_c, 0.0, ATM, 0.0) == pytest.approx(oracle, rel=300e-6)
    assert abs(ideal_gas(temp_c) - oracle) < 2 * model_uncertainty("ideal-gas", temp_c)


@pytest.mark.parametrize("temp_c", [-40.0, -20.0, 40.0, 50.0])
def test_outside_its_range_the_stated_uncertainty_still_covers(temp_c: float) -> None:
    """CoolProp's real dry air, as oracle, where Cramer's polynomial is extrapolated."""
    oracle = PropsSI("A", "T", temp_c + 273.15, "P", ATM, "Air")
    off = abs(humid_air(temp_c, 0.0, ATM, 0.0) - oracle)
    assert off < 2 * model_uncertainty(HUMID_AIR, temp_c)


@pytest.mark.parametrize(
    ("temp_c", "pressure_pa"), [(10.0, 1228.2), (20.0, 2339.3), (30.0, 4247.0)]
)
def test_saturation_pressure(temp_c: float, pressure_pa: float) -> None:
    """Vapour pressure of water, IAPWS-95 as implemented by CoolProp (values re-run here)."""
    oracle = PropsSI("P", "T", temp_c + 273.15, "Q", 1, "Water")
    assert oracle == pytest.approx(pressure_pa, rel=1e-3)
    enhancement = 1.00062 + 3.14e-8 * ATM + 5.6e-7 * temp_c**2
    ours = water_mole_fraction(temp_c, 1.0, ATM) * ATM / enhancement
    assert ours == pytest.approx(oracle, rel=1e-3)


@pytest.mark.parametrize("formula", AIR_FORMULAS)
def test_the_simple_formulas_state_what_they_leave_out(formula: str) -> None:
    """Any humidity from 0 to 100 % stays within two stated standard uncertainties."""
    for temp_c in np.linspace(-10.0, 40.0, 26):
        here = sound_speed(formula, float(temp_c), 0.5, ATM, 420e-6)
        allowed = 2 * model_uncertainty(formula, float(temp_c))
        if formula == HUMID_AIR:
            continue
        for humidity in (0.0, 0.5, 1.0):
            assert abs(humid_air(float(temp_c), humidity, ATM, 420e-6) - here) < allowed


def test_arrays_and_floats_agree() -> None:
    temps = np.array([0.0, 12.5, 30.0])
    zeros = np.zeros(3)
    together = humid_air(temps, zeros + 0.4, zeros + ATM, zeros + 420e-6)
    single = [humid_air(float(t), 0.4, ATM, 420e-6) for t in temps]
    assert together == pytest.approx(single, rel=1e-14)


@pytest.mark.parametrize("temp_c", [5.0, 20.0, 40.0])
@pytest.mark.parametrize("pressure_pa", [80_000.0, ATM])
def test_saturated_air_holds_what_the_equation_for_moist_air_says(
    temp_c: float, pressure_pa: float
) -> None:
    """Davis, Metrologia 29 (1992) 67 (coefficients from memory), written out apart.

    The exponent by Horner's rule in kelvin, the enhancement factor of saturated air.
    """
    t = temp_c + 273.15
    saturation = math.exp((1.2378847e-5 * t - 1.9121316e-2) * t + 33.93711047 - 6343.1645 / t)
    factor = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temp_c**2
    expected = factor * saturation / pressure_pa
    assert water_mole_fraction(temp_c, 1.0, pressure_pa) == pytest.approx(expected, rel=1e-9)
