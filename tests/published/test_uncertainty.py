"""Uncertainty propagation against published worked examples."""

from __future__ import annotations

from statistics import fmean, stdev

import pytest
from uncertainties import umath

from wayside.hand.entry import Entry
from wayside.hand.propagate import correlated, correlation, u_of, uncertain, value_of
from wayside.hand.units import Dimension, find_unit

GUM_TABLE_1 = (
    96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
    100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
)  # fmt: skip


def test_correlated_impedance() -> None:
    """JCGM 100:2008, H.2: resistance, reactance and impedance from correlated readings.

    Inputs and results as published (read second-hand); correlations of the results from
    memory, re-derived by this very calculation.
    """
    u = (3.2e-3, 9.5e-6, 7.5e-4)
    r = ((1, -0.36, 0.86), (-0.36, 1, -0.65), (0.86, -0.65, 1))
    covariance = [[r[i][j] * u[i] * u[j] for j in range(3)] for i in range(3)]
    volt, ampere, phase = correlated((4.999, 19.661e-3, 1.04446), covariance)
    results = (
        volt / ampere * umath.cos(phase),
        volt / ampere * umath.sin(phase),
        volt / ampere,
    )
    published = ((127.732, 0.071), (219.847, 0.295), (254.260, 0.236))
    for result, (value, spread) in zip(results, published, strict=True):
        assert value_of(result) == pytest.approx(value, abs=0.002)
        assert u_of(result) == pytest.approx(spread, abs=0.002)
    matrix = correlation(results)
    assert matrix[0, 1] == pytest.approx(-0.588, abs=0.01)
    assert matrix[0, 2] == pytest.approx(-0.485, abs=0.01)
    assert matrix[1, 2] == pytest.approx(0.993, abs=0.002)


def test_expansion_coefficient_by_linear_propagation() -> None:
    """NIST Technical Note 1900, example E13 (read second-hand): 1.7266e-5, u 1.76e-6 per kelvin.

    The published spread comes from sampling; the linear one must come within 2 %.
    """
    l0, t0, l1, t1 = (
        uncertain(value, u, name)
        for value, u, name in (
            (1.4999, 0.0001, "l0"),
            (288.15, 0.02, "t0"),
            (1.5021, 0.0002, "l1"),
            (373.10, 0.05, "t1"),
        )
    )
    alpha = (l1 - l0) / (l0 * (t1 - t0))
    assert value_of(alpha) == pytest.approx(1.7266e-5, rel=1e-4)
    assert u_of(alpha) == pytest.approx(1.76e-6, rel=0.02)


def test_repeated_readings() -> None:
    """JCGM 100:2008, 4.4.3: 20 temperatures, mean 100.145 °C, s 1.489, u 0.333.

    The readings are from memory; that they reproduce mean and scatter to three decimals is
    their check.
    """
    assert fmean(GUM_TABLE_1) == pytest.approx(100.145, abs=5e-4)
    assert stdev(GUM_TABLE_1) == pytest.approx(1.489, abs=5e-4)
    entry = Entry(None, "°C", readings=GUM_TABLE_1)
    assert entry.standard_u == pytest.approx(0.333, abs=5e-4)
    assert entry.dof == pytest.approx(19)


@pytest.mark.parametrize(("shape", "u"), [("rectangular", 2.31), ("triangular", 1.63)])
def test_limits(shape: str, u: float) -> None:
    """JCGM 100:2008, 4.4.5 and 4.4.6: limits 96 to 104 °C, so half-width 4 °C: 2.3 and 1.6."""
    entry = Entry(100.0, "°C", half_width=4.0, distribution=shape)
    assert entry.standard_u == pytest.approx(u, abs=0.005)


def test_resolution() -> None:
    """JCGM 100:2008, F.2.2.1: a resolution of width w adds w/sqrt(12) = 0.29 w."""
    assert Entry(5.0, "s", resolution=1.0).standard_u == pytest.approx(0.29, abs=0.002)


@pytest.mark.parametrize(
    ("dimension", "symbol", "number", "si"),
    [
        (Dimension.LENGTH, "in", 1.0, 0.0254),
        (Dimension.LENGTH, "ft", 1.0, 0.3048),
        (Dimension.LENGTH, "yd", 1.0, 0.9144),
        (Dimension.SPEED, "mph", 1.0, 0.44704),
        (Dimension.SPEED, "km/h", 3.6, 1.0),
        (Dimension.TEMPERATURE, "°F", 59.0, 15.0),
        (Dimension.TEMPERATURE, "°F", 212.0, 100.0),
        (Dimension.TEMPERATURE, "K", 293.15, 20.0),
        (Dimension.ROTATION, "rpm", 60.0, 1.0),
        (Dimension.PRESSURE, "hPa", 1013.25, 101_325.0),
    ],
)
def test_units(dimension: Dimension, symbol: str, number: float, si: float) -> None:
    """NIST SP 811, appendix B (exact factors); temperature scales by definition."""
    unit = find_unit(dimension, symbol)
    assert unit is not None
    assert unit.to_si(number) == pytest.approx(si, rel=1e-12)
