"""A speed that is not quite constant: its place in the phase, and the mean speed about the passing.

The rendering is the project's own and shows self-consistency; the covariance is held against
numerical integration (scipy), the averaging against its defining sums.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad
from tests.core.intervals import assert_true
from tests.core.measure.recordings import SOUND_SPEED

from wayside.measure.breadth import part_of
from wayside.measure.doubt import Belief, averaged
from wayside.measure.mixture import Part
from wayside.measure.motion import lever
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import PhaseFit
from wayside.measure.phases import PhaseTrack
from wayside.measure.pipeline import measure
from wayside.measure.unrest import Unrest, way_covariance
from wayside.physics.passby import PassBy
from wayside.simulate.render import render, source_motion
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording


@settings(max_examples=40, deadline=None)
@given(
    v=st.floats(2.0, 40.0),
    d=st.floats(0.5, 15.0),
    at=st.floats(-4.0, 4.0),
    tied=st.booleans(),
    a=st.floats(-0.04, 0.04),
)
def test_being_ahead_moves_the_phase_as_retarded_time_says(
    v: float, d: float, at: float, tied: bool, a: float
) -> None:
    p = PassBy(500.0, v, d, 1.0, 343.2, a * v * v / d, tied)
    t = p.passing_time_s + d / 343.2 + at * d / v
    since, cycles_per_m = lever(p, np.array([t]))

    def phase(ahead_m: float) -> float:
        # solve t = tau + r/c for a source `ahead_m` further on, by fixed-point iteration
        tau = t
        for _ in range(200):
            x = float(p.position(tau)) + ahead_m
            tau = t - math.hypot(d, x) / p.sound_speed_mps
        if tied:
            return 500.0 / v * (float(p.position(tau)) + ahead_m)
        return 500.0 * (tau - 1.0)

    h = 1e-4
    slope = (phase(h) - phase(-h)) / (2 * h)
    assert cycles_per_m[0] == pytest.approx(slope, rel=1e-4, abs=1e-4)
    assert since[0] == pytest.approx(float(p.emission_time(t)) - 1.0, abs=1e-9)


@pytest.mark.parametrize(("one", "other"), [(0.7, 1.9), (-0.4, 1.1), (-2.0, -0.3)])
def test_covariance_of_the_way_is_the_double_integral_of_the_speeds(
    one: float, other: float
) -> None:
    unrest = Unrest(waver=0.02, waver_s=0.8)
    a = math.sqrt(3.0) / unrest.waver_s

    def speeds(s: float, t: float) -> float:
        h = a * abs(s - t)
        return unrest.waver**2 * (1.0 + h) * math.exp(-h)

    expected, _ = dblquad(speeds, 0.0, one, 0.0, other, epsabs=1e-9)
    got = way_covariance(np.array([one]), np.array([other]), unrest)
    assert got[0, 0] == pytest.approx(expected, rel=1e-5, abs=1e-9)


def _fit(speed_mps: float, u: float, loglik: float) -> PhaseFit:
    p = PassBy(300.0, speed_mps, 2.0, 1.0, 343.2, 0.0, True)
    nothing = PhaseTrack(np.zeros(1), np.zeros(1), np.ones(1))
    return PhaseFit(p, (1,), 0.0, np.array([[u * u]]), Unrest(), loglik, nothing)


def _whole(fit: PhaseFit, belief: Belief) -> list[Part]:
    return [part_of(fit, belief.share)]


def test_average_of_two_fits_has_the_mixture_s_mean_and_variance() -> None:
    one, other = _fit(6.0, 0.006, 0.0), _fit(6.06, 0.012, math.log(3.0))
    both = averaged([one, other], [Belief(0.5), Belief(0.5)], _whole)
    # weights 1/4 and 3/4; in factors of the speed, where 1 % is 0.00995
    mean = 0.75 * math.log(1.01)
    assert both.passby.speed_mps == pytest.approx(6.0 * math.exp(mean), rel=1e-9)
    within = 0.25 * 0.001**2 + 0.75 * (0.012 / 6.06) ** 2
    between = 0.25 * mean**2 + 0.75 * (math.log(1.01) - mean) ** 2
    # covariances of a mixture are in factors of the speed
    u = float(np.sqrt(both.covariance[0, 0]))
    assert u == pytest.approx(math.sqrt(within + between), rel=1e-6)
    assert both.height == pytest.approx(math.log(2.0), rel=1e-9)


def test_a_fit_far_less_likely_changes_nothing() -> None:
    one, other = _fit(6.0, 0.05, 0.0), _fit(9.0, 0.05, -60.0)
    alone = averaged([one, other], [Belief(0.7), Belief(0.3)], _whole)
    assert alone.passby.speed_mps == pytest.approx(6.0, rel=1e-9)
    assert alone.covariance[0, 0] == pytest.approx((0.05 / 6.0) ** 2, rel=1e-6)


def test_mean_speed_of_a_wavering_buzzer_is_true() -> None:
    scores = []
    for seed in range(4):
        rng = np.random.default_rng(seed)
        d, v = rng.uniform(1.5, 3.5), rng.uniform(4, 9)
        c = rng.normal(SOUND_SPEED.value, SOUND_SPEED.u)
        p = PassBy(rng.uniform(500, 1500), v, d, 2.2, c)
        source = Source(p, (1.0, 0.5), wobble=0.01)
        scene = Scene((source,), 4.4, 11_025.0, background=Background(18.0))
        told = replace(MeasureOptions(), sound_speed=SOUND_SPEED, source_kind="tone")
        m = measure(Recording.from_array(render(scene, seed), 11_025.0), told)
        assert m.fit is not None
        reach = 2 * d / v
        ends = source_motion(source, 0, seed).travelled(np.array([2.2 - reach, 2.2 + reach]))
        q = m.fit.speed_mps
        # the waver alone must not pass for the uncertainty of the air
        assert q.u < 0.04 * v
        scores.append((q.value - float(ends[1] - ends[0]) / (2 * reach)) / q.u)
    assert_true(scores)
