"""Uncertainty bands of pitch curves, against formulas and a Monte Carlo (JCGM 101)."""

from __future__ import annotations

import numpy as np
import pytest

from wayside.physics.bands import CURVE_POINTS, curve_times, pitch_uncertainty
from wayside.physics.passby import PassBy

P = PassBy(400.0, 12.0, 3.0, 2.0, 340.0)
NAMES = ("source_hz", "speed_mps", "closest_m", "passing_time_s")


def test_the_source_pitch_alone_scales_the_curve() -> None:
    t = np.linspace(0, 4, 41)
    u = pitch_uncertainty(P, t, ("source_hz",), [[0.04]])
    assert u == pytest.approx(0.2 * P.pitch(t) / P.source_hz, rel=1e-6)


def test_far_off_the_speed_acts_as_on_the_limit() -> None:
    # derivative of f0 c/(c - v) by hand: f0 c/(c - v)^2
    u = pitch_uncertainty(P, [-1e4], ("speed_mps",), [[0.01]])
    assert u[0] == pytest.approx(0.1 * 400 * 340 / (340 - 12) ** 2, rel=1e-4)


def test_agrees_with_monte_carlo_correlations_included() -> None:
    rng = np.random.default_rng(3)
    sd = np.array([0.3, 0.1, 0.05, 0.01])
    r = np.eye(4)
    r[0, 1] = r[1, 0] = 0.6
    cov = r * np.outer(sd, sd)
    t = np.linspace(0, 4, 9)
    draws = rng.multivariate_normal([getattr(P, n) for n in NAMES], cov, 4000)
    pitches = np.array([P.with_(**dict(zip(NAMES, d, strict=True))).pitch(t) for d in draws])
    assert pitch_uncertainty(P, t, NAMES, cov) == pytest.approx(pitches.std(axis=0), rel=0.06)


def test_the_passing_time_acts_through_the_slope_of_the_curve() -> None:
    # a later passing moves the whole curve: u = |df/dt| u(t0), by numerical differentiation
    for p in (P, P.with_(passing_time_s=0.0), P.with_(passing_time_s=-2.0)):
        t = p.passing_time_s + np.linspace(-1.0, 1.0, 21)
        slope = (p.pitch(t + 1e-6) - p.pitch(t - 1e-6)) / 2e-6
        u = pitch_uncertainty(p, t, ("passing_time_s",), [[0.0004]])
        assert u == pytest.approx(0.02 * np.abs(slope), rel=1e-5, abs=1e-6)


def test_a_parameter_that_is_zero_may_still_be_uncertain() -> None:
    # acceleration at none: the slope against a wider difference
    t = np.linspace(0, 4, 9)
    slope = (
        P.with_(acceleration_mps2=1e-3).pitch(t) - P.with_(acceleration_mps2=-1e-3).pitch(t)
    ) / 2e-3
    u = pitch_uncertainty(P, t, ("acceleration_mps2",), [[0.01]])
    assert u == pytest.approx(0.1 * np.abs(slope), rel=1e-4)


def test_exact_parameters_leave_no_band() -> None:
    assert not pitch_uncertainty(P, [1.0, 2.0], ("speed_mps",), [[0.0]]).any()


@pytest.mark.parametrize(
    "p", [P, P.with_(closest_m=0.4, speed_mps=3.0), P.with_(passing_time_s=-1.0)]
)
def test_drawing_times_are_even_in_the_source_s_own_angle(p: PassBy) -> None:
    start, stop = p.passing_time_s - 2.0, p.passing_time_s + 3.0
    t = curve_times(p, start, stop, 101)
    assert t.size == 101
    assert t[[0, -1]] == pytest.approx([start, stop])
    assert np.all(np.diff(t) > 0)
    # asinh(v (t - t_heard)/d) in equal steps, the sound of the passing being heard at t_heard
    heard = p.passing_time_s + p.closest_m / p.sound_speed_mps
    steps = np.diff(np.arcsinh((t - heard) * p.speed_mps / p.closest_m))
    assert steps == pytest.approx(steps.mean(), rel=1e-6)
    assert curve_times(p, start, stop).size == CURVE_POINTS


def test_drawing_times_of_a_source_that_nearly_touches() -> None:
    # never finer than a millisecond about the passing
    t = curve_times(P.with_(closest_m=1e-9), 0.0, 4.0, 201)
    steps = np.diff(np.arcsinh((t - 2.0) / 1e-3))
    assert steps == pytest.approx(steps.mean(), rel=1e-3)


def test_the_curve_begins_and_ends_where_it_was_asked_to() -> None:
    times = curve_times(P, 0.0, 4.1)
    assert (times[0], times[-1]) == (0.0, 4.1)
    assert np.all(np.diff(times) > 0)
