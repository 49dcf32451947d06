"""A bicycle's two wheels: where each is, and what is open about both."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.measure.riding import MODES
from wayside.measure.twowheels import SHARED, Bicycle, wheel_of
from wayside.physics.passby import PassBy

PLACE = PassBy(300.0, 6.0, 2.0, 3.0, 343.2, -0.1, True)


@given(
    speed=st.floats(2.0, 12.0),
    slowing=st.floats(-0.2, 0.2),
    ahead=st.floats(-1.2, 1.2),
    ratio=st.floats(0.98, 1.02),
    after=st.floats(-3.0, 3.0),
)
def test_a_wheel_stays_as_far_ahead_and_keeps_its_treads_per_metre(
    speed: float, slowing: float, ahead: float, ratio: float, after: float
) -> None:
    place = PLACE.with_(speed_mps=speed, acceleration_mps2=slowing)
    wheel = wheel_of(place, ahead, ratio)
    tau = np.array([place.passing_time_s + after])
    assert wheel.position(tau) == pytest.approx(place.position(tau) + ahead, abs=1e-9)
    assert wheel.velocity(tau) == pytest.approx(place.velocity(tau), abs=1e-12)
    treads = wheel.source_hz / wheel.speed_mps
    assert treads == pytest.approx(ratio * place.source_hz / place.speed_mps, rel=1e-12)


def test_one_that_would_stand_still_before_a_wheel_passes_gives_a_number_all_the_same() -> None:
    creeping = PLACE.with_(speed_mps=0.3, acceleration_mps2=-0.2)
    wheel = wheel_of(creeping, -0.5, 1.0)
    assert math.isfinite(wheel.passing_time_s)
    assert wheel.speed_mps > 0


def test_a_step_and_the_step_between_undo_each_other() -> None:
    none, steady = np.zeros(2), np.zeros(MODES)
    start = Bicycle(PLACE, 0.004, 0.01, 1.0, 0.1, 0.05, -1.0, 0.5, steady, none, none, none)
    step = np.linspace(-0.05, 0.06, SHARED + 6)
    assert start.steps_to(start.moved(step)) == pytest.approx(step, abs=1e-12)
