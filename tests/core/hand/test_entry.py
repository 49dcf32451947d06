"""Standard uncertainties from limits, read-offs and repeats."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.hand.entry import Entry
from wayside.hand.units import Dimension, find_unit, units_of

ALL_UNITS = [u for d in Dimension for u in units_of(d)]


@given(unit=st.sampled_from(ALL_UNITS), value=st.floats(-1e6, 1e6), u=st.floats(0, 1e6))
def test_units_convert_there_and_back(unit: object, value: float, u: float) -> None:
    assert unit.from_si(unit.to_si(value)) == pytest.approx(value, rel=1e-9, abs=1e-9)  # type: ignore[attr-defined]
    assert unit.u_from_si(unit.u_to_si(u)) == pytest.approx(u, rel=1e-12)  # type: ignore[attr-defined]


def test_an_uncertainty_ignores_the_offset_of_a_temperature_scale() -> None:
    fahrenheit = find_unit(Dimension.TEMPERATURE, "degF")
    assert fahrenheit is not None
    assert fahrenheit.u_to_si(1.8) == pytest.approx(1.0)
    step = fahrenheit.to_si(61.8) - fahrenheit.to_si(60.0)
    assert step == pytest.approx(fahrenheit.u_to_si(1.8))


def test_separate_reasons_add_in_quadrature() -> None:
    entry = Entry(None, "s", u=0.03, resolution=0.04, readings=(1.0, 1.2, 1.1, 1.3))
    spread = math.sqrt(sum((x - 1.15) ** 2 for x in entry.readings) / 3 / 4)
    assert entry.best == pytest.approx(1.15)
    assert entry.standard_u == pytest.approx(math.sqrt(0.03**2 + 0.04**2 / 12 + spread**2))
    assert 3 < entry.dof < 10


def test_identical_repeats_leave_the_resolution() -> None:
    entry = Entry(None, "s", resolution=0.1, readings=(1.0, 1.0, 1.0))
    assert entry.standard_u == pytest.approx(0.1 / math.sqrt(12))
    assert entry.dof == math.inf


@given(st.floats(-100, 100), st.lists(st.floats(-10, 10), min_size=2, max_size=9))
def test_moving_the_best_value_keeps_the_uncertainty(value: float, readings: list[float]) -> None:
    entry = Entry(None, "m", readings=tuple(readings))
    moved = entry.with_best(value)
    assert moved.best == pytest.approx(value, abs=1e-9)
    assert moved.standard_u == pytest.approx(entry.standard_u, abs=1e-9)
