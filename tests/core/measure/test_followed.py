"""A phase followed along one curve and told along others, and what a wavering speed makes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.measure.recordings import HUM

from wayside.jobs import QUIET
from wayside.measure.along import ACCELERATED
from wayside.measure.demod import Blocks
from wayside.measure.doubt import KEPT_S, OF_THE_KEPT, beliefs_of, share_of_wavering, under
from wayside.measure.motion import lever, phase_model
from wayside.measure.phasefit import PhaseFit, Priors, fit_phase
from wayside.measure.phases import Followed, track_phase
from wayside.measure.unrest import Unrest

TIMES = np.arange(0.0, 5.0, 0.025)
NOISE = 1e-4
KNOWN = Priors(acceleration_mps2=(0.0, 0.05))


def _blocks(ahead_s: np.ndarray, seed: int = 1) -> Blocks:
    """Two harmonics of a wheel that is ahead of an even ride's place by so many seconds' way."""
    rng = np.random.default_rng(seed)
    _, per_m = lever(HUM, TIMES)
    cycles = HUM.speed_mps * per_m * ahead_s
    model = phase_model(HUM, TIMES)
    k = np.array([1, 2])
    z = model.spread * np.exp(2j * np.pi * k[:, None] * cycles)
    z += np.sqrt(0.5 * NOISE) * (rng.normal(size=z.shape) + 1j * rng.normal(size=z.shape))
    blocks = Blocks(TIMES, z, np.full(2, NOISE), k, HUM, 0.025, np.zeros(0))
    return replace(blocks, reference_cycles=model.cycles)


def _fits(blocks: Blocks) -> list[PhaseFit]:
    walk = Unrest.forgetting(20.0)
    even = fit_phase(blocks, HUM, ACCELERATED, KNOWN, begin=walk)
    return [even, *under(blocks, even, KNOWN, OF_THE_KEPT[1:], QUIET)]


@given(st.floats(-0.02, 0.02), st.floats(-0.2, 0.2), st.floats(-0.05, 0.05))
def test_along_a_near_curve_it_is_what_would_be_followed_there(
    pitch: float, late_s: float, brakes: float
) -> None:
    blocks = _blocks(np.zeros(TIMES.size))
    p = HUM.with_(
        source_hz=HUM.source_hz * (1.0 + pitch),
        passing_time_s=HUM.passing_time_s + late_s,
        acceleration_mps2=brakes,
    )
    carried = Followed(HUM, track_phase(blocks, HUM)).along(p)
    there = track_phase(blocks, p)
    off = carried.cycles - there.cycles
    assert np.std(off) < 0.02


def test_along_a_curve_too_far_to_be_followed_no_cycle_is_lost() -> None:
    blocks = _blocks(np.zeros(TIMES.size))
    # more than half a cycle a block
    far = HUM.with_(source_hz=HUM.source_hz + 30.0)
    wanted = phase_model(HUM, TIMES).cycles - phase_model(far, TIMES).cycles
    carried = Followed(HUM, track_phase(blocks, HUM)).along(far).cycles - wanted
    followed = track_phase(blocks, far).cycles - wanted
    assert np.ptp(carried) < 0.05
    assert np.ptp(followed) > 1.0


def test_a_rider_who_wavers_is_likelier_to_than_not() -> None:
    ahead = 0.004 * np.sin(2 * np.pi * TIMES / 4.0) * 4.0 / (2 * np.pi)
    fits = _fits(_blocks(ahead))
    assert share_of_wavering(fits, OF_THE_KEPT) > 0.95
    wavering = [fit for fit, belief in zip(fits, OF_THE_KEPT, strict=True) if belief.waver]
    # so little walk is left that the phase was not lost on the way to another curve
    assert all(fit.unrest.walk <= 1.2 * fits[0].unrest.walk for fit in wavering)


def test_an_even_rider_is_not_taken_for_one_who_wavers() -> None:
    assert share_of_wavering(_fits(_blocks(np.zeros(TIMES.size))), OF_THE_KEPT) < 0.5


@pytest.mark.parametrize("coherence_s", [0.5 * KEPT_S, 2.0 * KEPT_S])
def test_a_belief_in_braking_holds_the_acceleration_less(coherence_s: float) -> None:
    beliefs = beliefs_of(coherence_s)
    loose = [belief for belief in beliefs if belief.looser != 1.0]
    assert loose
    for belief in beliefs:
        known = belief.applied(KNOWN)
        assert known.acceleration_mps2 == (0.0, belief.looser * 0.05)
        assert replace(known, acceleration_mps2=KNOWN.acceleration_mps2) == KNOWN
    assert sum(belief.share for belief in beliefs) == pytest.approx(1.0)
