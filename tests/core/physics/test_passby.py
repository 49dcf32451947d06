"""Kinematics of a pass-by against root finding, quadrature, differences and published values."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq

from wayside.physics.passby import PassBy, speed_from_limits

C = 343.2
AIR = st.floats(300.0, 370.0)
MACH = st.floats(1e-3, 0.4)
CLOSEST = st.floats(0.05, 200.0)
PITCH = st.floats(20.0, 20_000.0)
# reception time in units of the crossing time d/v
AWAY = st.floats(-60.0, 60.0)


@st.composite
def passbys(draw: st.DrawFn, moving: str = "evenly") -> PassBy:
    c = draw(AIR)
    v, d = draw(MACH) * c, draw(CLOSEST)
    p = PassBy(draw(PITCH), v, d, draw(st.floats(-100.0, 100.0)), c)
    if moving == "evenly":
        return p
    # changes its speed by at most a tenth within a crossing
    a = draw(st.floats(-0.1, 0.1)) * v * v / d
    return p.with_(acceleration_mps2=a, speed_tied=draw(st.booleans()))


def _received(p: PassBy, away: float) -> float:
    return p.passing_time_s + away * p.closest_m / p.speed_mps


def _root(p: PassBy, t: float) -> float:
    """Emission time by bracketing ``tau + r(tau)/c = t``, written out from the definition."""

    def miss(tau: float) -> float:
        s = tau - p.passing_time_s
        x = p.speed_mps * s + 0.5 * p.acceleration_mps2 * s * s
        return tau + math.sqrt(p.closest_m**2 + x * x) / p.sound_speed_mps - t

    longest = 2.0 * (abs(t - p.passing_time_s) + p.closest_m / p.sound_speed_mps)
    return float(brentq(miss, t - longest, t, xtol=1e-13, rtol=8.9e-16))


@settings(max_examples=300, deadline=None)
@given(p=passbys(), away=AWAY)
def test_the_closed_form_is_the_root_of_the_retarded_time(p: PassBy, away: float) -> None:
    t = _received(p, away)
    scale = abs(t - p.passing_time_s) + p.closest_m / p.speed_mps + abs(p.passing_time_s)
    assert float(p.emission_time(t)) == pytest.approx(_root(p, t), abs=1e-12 * scale + 1e-12)


@settings(max_examples=200, deadline=None)
@given(p=passbys("unevenly"), away=st.floats(-4.0, 4.0))
def test_with_acceleration_too(p: PassBy, away: float) -> None:
    t = _received(p, away)
    scale = abs(t - p.passing_time_s) + p.closest_m / p.speed_mps + abs(p.passing_time_s)
    assert float(p.emission_time(t)) == pytest.approx(_root(p, t), abs=1e-11 * scale + 1e-12)


@settings(max_examples=150, deadline=None)
@given(p=passbys("unevenly"), away=st.floats(-4.0, 4.0))
def test_emission_and_arrival_undo_each_other(p: PassBy, away: float) -> None:
    t = _received(p, away)
    tolerance = 1e-11 * (1.0 + abs(t))
    assert float(p.arrival_time(p.emission_time(t))) == pytest.approx(t, abs=tolerance)
    assert float(p.emission_time(p.arrival_time(t))) == pytest.approx(t, abs=tolerance)


@settings(max_examples=100, deadline=None)
@given(p=passbys("unevenly"), away=st.floats(-4.0, 4.0))
def test_the_pitch_is_the_slope_of_the_phase_heard(p: PassBy, away: float) -> None:
    step = 1e-4 * p.closest_m / p.speed_mps
    t = _received(p, away) + step * np.array([-2.0, -1.0, 1.0, 2.0])
    heard = p.source_phase(p.emission_time(t)) @ np.array([1.0, -8.0, 8.0, -1.0]) / (12 * step)
    rounding = 1e-14 * p.source_hz * (1.0 + float(np.max(np.abs(t)))) / step
    assert float(p.pitch(np.mean(t))) == pytest.approx(heard, rel=1e-9, abs=40 * rounding)


@settings(max_examples=100, deadline=None)
@given(p=passbys("unevenly"), away=st.floats(-4.0, 4.0))
def test_the_source_pitch_is_the_slope_of_the_source_phase(p: PassBy, away: float) -> None:
    tau = _received(p, away)
    step = 1e-3 * p.closest_m / p.speed_mps
    slope = float(np.diff(p.source_phase(tau + step * np.array([-1.0, 1.0])))[0]) / (2 * step)
    since = tau - p.passing_time_s
    relative = 1.0 + p.acceleration_mps2 * since / p.speed_mps if p.speed_tied else 1.0
    rounding = 1e-13 * p.source_hz * (1.0 + abs(tau)) / step
    assert slope == pytest.approx(p.source_hz * relative, rel=1e-9, abs=rounding)


@pytest.mark.parametrize("tied", [False, True])
@pytest.mark.parametrize("a", [0.0, -0.3])
def test_the_phase_is_the_integral_of_the_pitch(tied: bool, a: float) -> None:
    p = PassBy(310.0, 7.0, 1.6, 2.0, C, a, tied)
    cycles, _ = quad(lambda t: float(p.pitch(t)), 0.5, 3.7, epsabs=1e-9, limit=200)
    ends = p.source_phase(p.emission_time(np.array([0.5, 3.7])))
    assert float(np.diff(ends)[0]) == pytest.approx(cycles, abs=1e-6)


@settings(max_examples=100, deadline=None)
@given(p=passbys(), away=AWAY)
def test_the_curve_is_linear_in_two_of_its_four_numbers(p: PassBy, away: float) -> None:
    # f = alpha + beta T/sqrt(s^2 + T^2), derived by putting the closed form into the pitch
    m = p.speed_mps / p.sound_speed_mps
    alpha, beta = p.source_hz / (1 - m * m), -p.source_hz * m / (1 - m * m)
    c, v = p.sound_speed_mps, p.speed_mps
    s = p.closest_m * math.sqrt(c * c - v * v) / (v * c)
    T = away * p.closest_m / v
    expected = alpha + beta * T / math.hypot(s, T)
    assert float(p.pitch(p.passing_time_s + T)) == pytest.approx(expected, rel=1e-9)
    # and back again
    assert -c * beta / alpha == pytest.approx(v, rel=1e-12)
    assert alpha * (1 - beta**2 / alpha**2) == pytest.approx(p.source_hz, rel=1e-12)


@settings(max_examples=200, deadline=None)
@given(p=passbys())
def test_speed_and_pitch_come_back_from_the_limits(p: PassBy) -> None:
    v, f0 = speed_from_limits(p.approach_hz, p.recede_hz, p.sound_speed_mps)
    assert v == pytest.approx(p.speed_mps, rel=1e-10)
    assert f0 == pytest.approx(p.source_hz, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(p=passbys())
def test_far_away_the_pitch_reaches_its_limits_from_within(p: PassBy) -> None:
    far = 1e4 * p.closest_m / p.speed_mps
    near, late = p.pitch(p.passing_time_s + far * np.array([-1.0, 1.0]))
    assert near == pytest.approx(p.approach_hz, rel=1e-7)
    assert late == pytest.approx(p.recede_hz, rel=1e-7)
    times = p.passing_time_s + np.linspace(-50, 50, 400) * p.closest_m / p.speed_mps
    pitch = p.pitch(times)
    assert np.all(np.diff(pitch) < 0)
    assert np.all((pitch < p.approach_hz) & (pitch > p.recede_hz))


@settings(max_examples=60, deadline=None)
@given(p=passbys("unevenly"))
def test_sound_from_the_closest_point_has_the_source_pitch(p: PassBy) -> None:
    heard = p.passing_time_s + p.closest_m / p.sound_speed_mps
    slack = 1e-12 * (1 + abs(heard)) * p.speed_mps / p.closest_m
    assert float(p.pitch(heard)) == pytest.approx(p.source_hz, rel=1e-11 + slack)
    assert float(p.emission_time(heard)) == pytest.approx(p.passing_time_s, abs=1e-11)


@settings(max_examples=60, deadline=None)
@given(p=passbys(), since=st.floats(0.01, 40.0))
def test_equally_long_before_and_after_the_periods_average_to_the_source_s(
    p: PassBy, since: float
) -> None:
    # the period heard is stretched by 1 + v cos(angle)/c, odd in the source's own time
    tau = p.passing_time_s + since * p.closest_m / p.speed_mps * np.array([-1.0, 1.0])
    before, after = p.pitch(p.arrival_time(tau))
    assert 0.5 * (1 / before + 1 / after) == pytest.approx(1 / p.source_hz, rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(p=passbys(), away=AWAY, factor=st.floats(0.5, 2.0))
def test_speed_distance_and_speed_of_sound_scale_together(
    p: PassBy, away: float, factor: float
) -> None:
    t = _received(p, away)
    other = p.with_(
        speed_mps=p.speed_mps * factor,
        closest_m=p.closest_m * factor,
        sound_speed_mps=p.sound_speed_mps * factor,
    )
    assert float(other.pitch(t)) == pytest.approx(float(p.pitch(t)), rel=1e-11)


def test_the_source_pitch_is_not_midway_between_the_two() -> None:
    p = PassBy(500.0, 60.0, 5.0, 0.0, C)
    assert p.approach_hz - p.source_hz > p.source_hz - p.recede_hz
    mean = 0.5 * (p.approach_hz + p.recede_hz)
    assert mean == pytest.approx(p.source_hz / (1 - (60 / C) ** 2), rel=1e-12)


def test_two_pitches_read_near_the_passing_give_too_small_a_speed() -> None:
    # expansion of T/sqrt(s^2 + T^2): short by d^2/(2 v^2 T^2) of the speed
    p = PassBy(400.0, 6.0, 2.0, 0.0, C)
    for T in (2.0, 4.0, 8.0):
        fa, fr = p.pitch(np.array([-T, T]))
        v, _ = speed_from_limits(float(fa), float(fr), C)
        assert 1 - v / p.speed_mps == pytest.approx(2.0**2 / (2 * 36.0 * T * T), rel=0.05)


def test_a_standing_source_in_the_limit_of_no_speed() -> None:
    p = PassBy(440.0, 1e-6, 1.0, 0.0, C)
    assert p.pitch(np.linspace(-5, 5, 11)) == pytest.approx(440.0, rel=1e-8)


def test_the_train_horn() -> None:
    # OpenStax College Physics, 17.4: 150 Hz, 35.0 m/s, 340 m/s; 167 Hz and, receding, 136 Hz
    p = PassBy(150.0, 35.0, 3.0, 0.0, 340.0)
    assert round(p.approach_hz) == 167
    assert round(p.recede_hz) == 136


def test_the_horn_whose_speed_is_asked_for() -> None:
    # OpenStax: a 200 Hz horn is heard as 208 Hz, c 335 m/s: 12.9 m/s, then 193 Hz
    c, f0, heard = 335.0, 200.0, 208.0
    v = brentq(lambda u: PassBy(f0, u, 1.0, 0.0, c).approach_hz - heard, 1.0, 100.0)
    assert v == pytest.approx(12.9, abs=0.05)
    assert PassBy(f0, v, 1.0, 0.0, c).recede_hz == pytest.approx(193.0, abs=0.5)


def test_a_tied_pitch_follows_the_speed_and_a_fixed_one_does_not() -> None:
    tied = PassBy(300.0, 6.0, 1e-3, 0.0, C, -0.1, True)
    tau = np.array([-3.0, 0.0, 3.0])
    rate = np.gradient(tied.source_phase(np.linspace(-3, 3, 601)), 0.01)
    assert rate[[1, 300, 599]] == pytest.approx(300.0 * tied.velocity(tau) / 6.0, rel=1e-3)
    fixed = tied.with_(speed_tied=False)
    assert fixed.source_phase(tau) == pytest.approx(300.0 * tau)


@settings(max_examples=30, deadline=None)
@given(p=passbys("unevenly"))
def test_arrays_of_any_shape_go_in_and_come_out(p: PassBy) -> None:
    times = p.passing_time_s + np.linspace(-1, 1, 12).reshape(3, 4) * p.closest_m / p.speed_mps
    for make in (p.emission_time, p.pitch, p.position, p.velocity, p.distance, p.arrival_time):
        many = make(times)
        assert many.shape == (3, 4)
        assert many[1, 2] == pytest.approx(float(make(times[1, 2])), rel=1e-12, abs=1e-12)


def test_a_hundred_thousand_seconds_out_nothing_is_lost() -> None:
    p = PassBy(700.0, 5.0, 2.0, 0.0, C)
    times = np.array([-1e5, 1e5])
    assert p.arrival_time(p.emission_time(times)) == pytest.approx(times, rel=1e-14)
    straight_in = times / (1 + np.array([-1.0, 1.0]) * 5.0 / C)
    assert p.emission_time(times) == pytest.approx(straight_in, rel=1e-9)


def test_a_pitch_is_fixed_unless_told() -> None:
    plain = PassBy(300.0, 6.0, 2.0, 0.0, C, -0.1)
    assert plain == plain.with_(speed_tied=False)
    with pytest.raises(FrozenInstanceError):
        plain.speed_mps = 7.0  # type: ignore[misc]
