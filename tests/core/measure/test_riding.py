"""A rider's wavering in few numbers, and the fits of two wheels that ride on it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.measure.recordings import HUM

from wayside.measure.demod import Blocks
from wayside.measure.loudest import loudest_s
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import Priors
from wayside.measure.riding import MODES, ride_of
from wayside.measure.twowheels import Bicycle, Hum, wheel_of
from wayside.measure.unrest import Unrest, way_covariance
from wayside.physics.passby import PassBy

TIMES = np.arange(0.0, 5.0, 0.02)
NONE, LINES = np.zeros(2), np.array([0.0, -1.0])
EVEN = Bicycle(HUM, 0.008, 0.0, 1.0, 0.0, 0.0, -1.2, 0.5, np.zeros(MODES), LINES, NONE, NONE)


def _hum(waver: float = 0.012) -> Hum:
    noise = np.full(2, 0.01)
    blocks = Blocks(
        TIMES, np.zeros((2, TIMES.size), complex), noise, np.array([1, 2]), HUM, 0.02, np.zeros(0)
    )
    blocks = replace(blocks, reference_cycles=phase_model(HUM, TIMES).cycles)
    return Hum(blocks, Priors(), 2, ride=ride_of(HUM, 0.0, 5.0, 1.0), waver=waver)


def _pitch(hum: Hum, bicycle: Bicycle) -> np.ndarray:
    """Return the pitch of the rear wheel as it is heard (Hz)."""
    _, rear = hum.ways(bicycle)
    turned = np.unwrap(np.angle(rear[:, 0])) / (2 * np.pi) + hum.blocks.reference_cycles
    return np.gradient(turned, TIMES)


@settings(max_examples=30, deadline=None)
@given(
    speed=st.floats(2.0, 10.0),
    closest=st.floats(0.5, 5.0),
    late=st.floats(-0.5, 0.5),
    seed=st.integers(0, 2**20),
)
def test_no_wavering_changes_the_mean_speed_or_the_place_at_the_passing(
    speed: float, closest: float, late: float, seed: int
) -> None:
    ride = ride_of(HUM, 0.0, 12.0, 1.0)
    p = HUM.with_(speed_mps=speed, closest_m=closest, passing_time_s=5.5 + late)
    reach = 2.0 * closest / speed
    asked = np.array([-reach, 0.0, reach])
    ahead = np.random.default_rng(seed).normal(size=MODES) @ ride.each_s(p, asked)
    # whatever it gains before the passing it has lost two crossing times after it
    assert ahead[1] == pytest.approx(0.0, abs=1e-9)
    assert ahead[2] - ahead[0] == pytest.approx(0.0, abs=1e-9)


def test_the_modes_make_nearly_all_of_the_way_that_such_a_speed_gains() -> None:
    ride = ride_of(HUM, 0.0, 5.0, 1.0)
    since = np.linspace(-2.2, 2.2, 60)
    modes = ride.each_s(HUM, since)
    # the covariance of the whole process, its mean about the passing taken off by hand
    reach = 2.0 * HUM.closest_m / HUM.speed_mps
    asked = np.append(since, [-reach, reach])
    whole = way_covariance(asked, asked, Unrest(waver=1.0, waver_s=1.0))
    less = np.column_stack([np.eye(60), since / (2 * reach), -since / (2 * reach)])
    expected = less @ whole @ less.T
    left = np.trace(expected - modes.T @ modes) / np.trace(expected)
    assert 0.0 <= left < 1e-3


def test_a_rider_who_does_not_waver_sounds_like_a_steady_one() -> None:
    hum = _hum()
    steady = replace(hum, ride=None)
    for way, other in zip(hum.ways(EVEN), steady.ways(EVEN), strict=True):
        assert way == pytest.approx(other, abs=1e-9)


def test_both_wheels_feel_the_same_speed_at_the_same_time() -> None:
    hum = _hum()
    wavering = replace(EVEN, waver=np.linspace(0.02, -0.01, MODES))
    pitches = []
    for louder in (-30.0, 30.0):
        # of a wheel all but alone that wheel's own curve is heard
        front, rear = hum.ways(replace(wavering, louder=louder, ratio=0.0))
        loud = rear if louder > 0 else front
        turned = np.unwrap(np.angle(loud[:, 0])) / (2 * np.pi) + hum.blocks.reference_cycles
        pitches.append(np.gradient(turned, TIMES))
    # alone, each is where the hum comes from, so that the two are the same pass-by
    assert pitches[0] == pytest.approx(pitches[1], abs=1e-6)
    # and a change of speed by so many per cent changes the pitch by as many
    steady = _pitch(replace(hum, ride=None), replace(EVEN, ratio=0.0, louder=30.0))
    emitted = HUM.emission_time(TIMES) - HUM.passing_time_s
    assert hum.ride is not None
    gained = np.gradient(wavering.waver @ hum.ride.each_s(HUM, emitted), emitted)
    inner = slice(5, -5)
    change = (pitches[1] / steady - 1.0)[inner]
    assert change == pytest.approx(gained[inner], abs=2e-3)
    assert np.max(np.abs(change)) > 0.01


@pytest.mark.parametrize("later_s", [-0.15, 0.1])
def test_a_start_elsewhere_keeps_the_pitch_that_was_heard(later_s: float) -> None:
    # so far off that the pitch falls no faster than a rider may waver
    hum, far = _hum(), replace(EVEN, passby=HUM.with_(closest_m=4.0))
    before = _pitch(hum, far)
    moved = far.passby.with_(passing_time_s=HUM.passing_time_s + later_s)
    start = hum.sounding_alike(far, moved)
    assert start.passby.passing_time_s == moved.passing_time_s
    near = np.abs(TIMES - HUM.heard_passing_s) < 1.0
    alone, alike = _pitch(hum, replace(far, passby=moved)), _pitch(hum, start)
    off = np.std((alone - before)[near])
    assert off > 0.2
    assert np.std((alike - before)[near]) < off / 4.0


@settings(max_examples=20, deadline=None)
@given(
    speed=st.floats(3.0, 9.0),
    closest=st.floats(0.6, 3.0),
    passing=st.floats(1.5, 3.5),
    seed=st.integers(0, 2**20),
)
def test_the_loudest_time_of_a_beating_level_is_the_passing(
    speed: float, closest: float, passing: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    p = PassBy(300.0, speed, closest, passing, 343.2, 0.0, True)
    spread = phase_model(p, TIMES).spread
    z = spread * 30.0 * (rng.normal(size=(2, TIMES.size)) + 1j * rng.normal(size=(2, TIMES.size)))
    z += rng.normal(size=z.shape) + 1j * rng.normal(size=z.shape)
    blocks = Blocks(TIMES, z, np.full(2, 2.0), np.array([1, 2]), p, 0.02, np.zeros(TIMES.size))
    assert loudest_s(blocks) == pytest.approx(p.heard_passing_s, abs=0.5 * closest / speed + 0.05)


def test_wheels_of_one_rider_keep_their_distance() -> None:
    from wayside.simulate.render import source_motion
    from wayside.simulate.scene import Source

    rear = Source(HUM, wobble=0.02, rider=0)
    front = Source(wheel_of(HUM, 1.05, 1.0), wobble=0.02, rider=0)
    t = np.linspace(0.0, 5.0, 40)
    gap = source_motion(front, 1, 4).travelled(t) - source_motion(rear, 0, 4).travelled(t)
    # the front wheel passes earlier by what the rider takes for the wheelbase just then
    assert np.ptp(gap) < 1e-6
    assert np.mean(gap) == pytest.approx(1.05, rel=0.05)
    alone = source_motion(replace(front, rider=None), 1, 4).travelled(t)
    assert np.ptp(alone - source_motion(rear, 0, 4).travelled(t)) > 1e-3
    assert math.isfinite(float(np.sum(alone)))
