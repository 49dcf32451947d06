"""Speed of sound in air by three formulas, each with its own stated model uncertainty.

Every formula uses only ``+ - * / **``, so it takes floats, arrays, and numbers that carry
uncertainty alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

N = TypeVar("N", float, npt.NDArray[np.float64])

ZERO_CELSIUS_K = 273.15
STANDARD_PRESSURE_PA = 101_325.0
AMBIENT_CO2 = 420e-6
"""Mole fraction of carbon dioxide outdoors (2020s, rounded)."""

RULE_OF_THUMB, IDEAL_GAS, HUMID_AIR = "rule-of-thumb", "ideal-gas", "humid-air"


@dataclass(frozen=True)
class AirFormula:
    """A formula for the speed of sound, as shown to the user.

    Parameters
    ----------
    key : str
        Name in set-up files.
    label, text, latex : str
        Plain name, and the formula on one line in plain text and in LaTeX.
    source : str
        Where the formula comes from.
    """

    key: str
    label: str
    text: str
    latex: str
    source: str


AIR_FORMULAS: dict[str, AirFormula] = {
    f.key: f
    for f in (
        AirFormula(
            RULE_OF_THUMB,
            "rule of thumb",
            "c = 331 m/s + 0.6 m/s per °C × T",
            r"c = 331 + 0.6\,T",
            "common practice, no source",
        ),
        AirFormula(
            IDEAL_GAS,
            "dry ideal gas",
            "c = 343.2 m/s × √(T_K / 293.15 K)",
            r"c = 343.2\,\sqrt{T_\mathrm{K} / 293.15}",
            "ISO 9613-1, formula A.5",
        ),
        AirFormula(
            HUMID_AIR,
            "humid air",
            "c = c(T, humidity, pressure, CO₂), Cramer's polynomial",
            r"c = c(T, x_\mathrm{w}, p, x_\mathrm{c})",
            "Cramer, J. Acoust. Soc. Am. 93 (1993) 2510",
        ),
    )
}


def rule_of_thumb(temp_c: N) -> N:
    """Return ``331 + 0.6 T`` (m/s) for air at `temp_c` (°C). Common practice, no source."""
    return 331.0 + 0.6 * temp_c


def ideal_gas(temp_c: N) -> N:
    """Return ``343.2 sqrt(T/293.15)`` (m/s) for air at `temp_c` (°C).

    References
    ----------
    ISO 9613-1, formula A.5: a dry ideal gas scaled from 20 °C.
    """
    ratio: N = (temp_c + ZERO_CELSIUS_K) / 293.15
    root: N = ratio**0.5
    return 343.2 * root


def water_mole_fraction(temp_c: N, humidity: N, pressure_pa: N) -> N:
    """Return the mole fraction of water vapour.

    ``x_w = h f p_sv / p`` with the enhancement factor f and the saturation pressure p_sv of
    the equation for the density of moist air.

    Parameters
    ----------
    temp_c : float or ndarray
        Temperature (°C).
    humidity : float or ndarray
        Relative humidity as a fraction, 0 to 1.
    pressure_pa : float or ndarray
        Pressure (Pa).

    References
    ----------
    Davis, Metrologia 29 (1992) 67, as used by Cramer, J. Acoust. Soc. Am. 93 (1993) 2510.
    """
    kelvin: N = temp_c + ZERO_CELSIUS_K
    exponent: N = (
        1.2378847e-5 * kelvin * kelvin - 1.9121316e-2 * kelvin + 33.93711047 - 6343.1645 / kelvin
    )
    saturation: N = math.e**exponent
    enhancement: N = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temp_c * temp_c
    return humidity * enhancement * saturation / pressure_pa


def humid_air(temp_c: N, humidity: N, pressure_pa: N, co2: N) -> N:
    """Return the speed of sound (m/s) in humid air by Cramer's polynomial.

    Parameters
    ----------
    temp_c : float or ndarray
        Temperature (°C), stated for 0 to 30.
    humidity : float or ndarray
        Relative humidity as a fraction, 0 to 1.
    pressure_pa : float or ndarray
        Pressure (Pa), stated for 75 to 102 kPa.
    co2 : float or ndarray
        Mole fraction of carbon dioxide, up to 0.01.

    References
    ----------
    Cramer, J. Acoust. Soc. Am. 93 (1993) 2510; stated uncertainty under 300 ppm.
    """
    t, p, xc = temp_c, pressure_pa, co2
    xw = water_mole_fraction(temp_c, humidity, pressure_pa)
    by_water: N = (51.471935 + 0.1495874 * t - 0.000782 * t * t) * xw
    by_pressure: N = (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t * t) * p
    by_co2: N = (-85.20931 - 0.228525 * t + 5.91e-5 * t * t) * xc
    mixed: N = -2.835149 * xw * xw - 2.15e-13 * p * p + 29.179762 * xc * xc
    cross: N = 0.000486 * xw * p * xc
    base: N = 331.5024 + 0.603055 * t - 0.000528 * t * t
    return base + by_water + by_pressure + by_co2 + mixed + cross


def sound_speed(formula: str, temp_c: N, humidity: N, pressure_pa: N, co2: N) -> N:
    """Return the speed of sound (m/s) by the formula of that name.

    Parameters
    ----------
    formula : str
        A key of `AIR_FORMULAS`; only ``"humid-air"`` uses more than the temperature.
    temp_c, humidity, pressure_pa, co2 : float or ndarray
        As in `humid_air`.
    """
    if formula == RULE_OF_THUMB:
        return rule_of_thumb(temp_c)
    if formula == IDEAL_GAS:
        return ideal_gas(temp_c)
    return humid_air(temp_c, humidity, pressure_pa, co2)


def model_uncertainty(formula: str, temp_c: float) -> float:
    """Return the standard uncertainty (m/s) of the formula itself at this temperature.

    Humid air: 300 ppm as stated by Cramer, taken as one standard uncertainty. The other two
    leave out the humidity, which may be anything: their largest distance from humid air
    between 0 and 100 % humidity is taken as the half-width of a rectangular distribution
    (JCGM 100:2008, 4.3.7). Outside 0 to 30 °C, where the polynomial is extrapolated, its
    distance from the ideal gas in dry air is added in quadrature.
    """
    dry = humid_air(temp_c, 0.0, STANDARD_PRESSURE_PA, AMBIENT_CO2)
    wet = humid_air(temp_c, 1.0, STANDARD_PRESSURE_PA, AMBIENT_CO2)
    u = 300e-6 * dry
    if not 0.0 <= temp_c <= 30.0:
        u = math.hypot(u, dry - ideal_gas(temp_c))
    if formula == HUMID_AIR:
        return u
    here = sound_speed(formula, temp_c, 0.0, STANDARD_PRESSURE_PA, AMBIENT_CO2)
    half_width = max(abs(dry - here), abs(wet - here))
    return math.hypot(u, half_width / math.sqrt(3.0))
