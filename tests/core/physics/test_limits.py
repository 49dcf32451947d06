"""Sound along the track in wind against ray geometry; pitches both ways against the definition."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from wayside.physics.limits import (
    far_limits,
    observer_from_limits,
    source_from_limits,
    speeds_along_track,
)

SOUND = st.floats(310.0, 360.0)
WIND = st.floats(-20.0, 20.0)
SPEED = st.floats(0.5, 60.0)


def _ground_speed(c: float, along: float, across: float, direction: int) -> float:
    """Speed over the ground of a wave that is headed so that it stays on the track."""

    def drift(angle: float) -> float:
        return c * math.sin(angle) + across

    angle = brentq(drift, -0.5, 0.5, xtol=1e-14)
    return direction * (direction * c * math.cos(angle) + along)


@settings(max_examples=100, deadline=None)
@given(c=SOUND, along=WIND, across=WIND)
def test_wind_carries_the_sound_along_and_aside(c: float, along: float, across: float) -> None:
    forward, backward = speeds_along_track(c, along, across)
    assert forward == pytest.approx(_ground_speed(c, along, across, 1), rel=1e-12)
    assert backward == pytest.approx(_ground_speed(c, along, across, -1), rel=1e-12)


@settings(max_examples=100, deadline=None)
@given(c=SOUND, along=WIND, v=SPEED, other=st.floats(-30.0, 30.0))
def test_pitches_are_crests_counted_as_they_come(
    c: float, along: float, v: float, other: float
) -> None:
    # Two crests leave 1/f0 apart. Meanwhile the source has moved by v/f0 and the observer by
    # other/f0 the other way; the rest is the time the second crest gains or loses on its way.
    f0 = 500.0
    forward, backward = speeds_along_track(c, along, 0.0)
    approach, recede = far_limits(f0, forward, backward, v, other)
    gains = (v + other) / f0 / (forward + other)
    loses = (v + other) / f0 / (backward - other)
    assert 1.0 / approach == pytest.approx(1.0 / f0 - gains, rel=1e-9)
    assert 1.0 / recede == pytest.approx(1.0 / f0 + loses, rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(c=SOUND, along=WIND, across=WIND, v=SPEED, other=st.floats(-30.0, 30.0))
def test_a_moving_source_is_found_again(
    c: float, along: float, across: float, v: float, other: float
) -> None:
    ways = speeds_along_track(c, along, across)
    pitches = far_limits(440.0, *ways, v, other)
    assert source_from_limits(*pitches, *ways, other) == pytest.approx((v, 440.0), rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(c=SOUND, along=WIND, across=WIND, v=SPEED)
def test_a_moving_observer_is_found_again(c: float, along: float, across: float, v: float) -> None:
    forward, backward = speeds_along_track(c, along, across)
    # it meets the sound that travels against its own direction first
    approach = 440.0 * (1.0 + v / backward)
    recede = 440.0 * (1.0 - v / forward)
    found = observer_from_limits(approach, recede, forward, backward)
    assert found == pytest.approx((v, 440.0), rel=1e-9)


def test_arrays_do_as_floats_do() -> None:
    winds = np.array([-5.0, 0.0, 5.0])
    forward, backward = speeds_along_track(np.full(3, 343.0), winds, np.zeros(3))
    assert forward == pytest.approx([338.0, 343.0, 348.0])
    assert backward == pytest.approx([348.0, 343.0, 338.0])
