"""Slopes of the blocks' likelihood by differences, and what the level adds to it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wayside.measure.demod import Blocks
from wayside.measure.ladder import (
    CONSTANT,
    climb,
    climb_all,
    climb_on,
    edges_of,
    gains_of,
    moved,
    sums_at,
)
from wayside.measure.loudness import departure, follows_distance
from wayside.measure.motion import phase_model
from wayside.physics.passby import PassBy

P = PassBy(300.0, 8.0, 1.5, 2.0, 343.2)
TIMES = np.arange(0.0125, 4.0, 0.025)


def _blocks(noise: float, seed: int, louder_ahead: float = 0.0) -> Blocks:
    rng = np.random.default_rng(seed)
    model = phase_model(P, TIMES)
    tau = P.emission_time(TIMES) - P.passing_time_s
    place = P.speed_mps * tau / np.hypot(P.closest_m, P.speed_mps * tau)
    white = rng.standard_normal((2, 2, TIMES.size)) * np.sqrt(noise / 2)
    size = np.array([0.5 + 0.2j, -0.1 + 0.3j])[:, None]
    z = size * model.spread * (1.0 - louder_ahead * place) + white[0] + 1j * white[1]
    return Blocks(TIMES, z, np.full(2, noise), np.array([1, 2]), P, 0.025, model.cycles)


@settings(max_examples=30, deadline=None)
@given(
    move=st.lists(st.floats(-0.02, 0.02), min_size=4, max_size=4),
    width=st.sampled_from([8, 50, 1000]),
)
def test_slopes_are_those_of_the_likelihood(move: list[float], width: int) -> None:
    blocks = _blocks(0.01, 1)
    p = moved(P, np.array(move) * [0.01, 1, 1, 1], CONSTANT)
    edges = edges_of(blocks, p, width)
    sums = sums_at(blocks, p, edges, CONSTANT, level=True)
    assert sums.gain == pytest.approx(float(gains_of(blocks, p, edges).sum()), rel=1e-12)
    for i in CONSTANT:
        step = np.zeros(4)
        step[i] = 1e-6
        above, below = (
            sums_at(blocks, moved(p, s * step, CONSTANT), edges, CONSTANT).gain for s in (1, -1)
        )
        slope = (above - below) / 2e-6
        assert 2 * sums.gradient[i] == pytest.approx(slope, rel=1e-3, abs=1e-3 * sums.gain)


def test_curvature_is_that_of_the_likelihood_at_a_loud_fit() -> None:
    blocks = _blocks(1e-6, 2)
    rung = climb(blocks, P, 1000, steps=40, level=True)
    edges = edges_of(blocks, rung.passby, 1000)

    def gain(step: np.ndarray) -> float:
        return sums_at(blocks, moved(rung.passby, step, CONSTANT), edges, CONSTANT).gain

    u = np.sqrt(np.diag(np.linalg.inv(2 * rung.normal)))
    for i in CONSTANT:
        step = np.zeros(4)
        step[i] = 0.3 * u[i]
        bend = (gain(step) - 2 * gain(0 * step) + gain(-step)) / step[i] ** 2
        assert bend == pytest.approx(-2 * rung.normal[i, i], rel=0.02)


def test_a_climb_that_was_stopped_goes_on_to_the_same_top() -> None:
    blocks = _blocks(0.01, 3)
    start = moved(P, np.array([0.0, 0.05, 0.05, 0.02]), CONSTANT)
    whole = climb_all(blocks, start, 4)
    low = climb_all(blocks, start, 4, most=2)
    assert len(low) == 2
    again = climb_on(blocks, low)
    assert [r.window_blocks for r in again] == [r.window_blocks for r in whole]
    assert again[-1].passby == whole[-1].passby
    assert climb_on(blocks, whole) is whole


def test_departures_from_the_distance_law_are_seen_and_noise_is_not() -> None:
    """Under 1/r the statistic is chi-squared with four freedoms (Rao 1948)."""
    found = []
    for seed in range(80):
        blocks = _blocks(0.01, 10 + seed)
        found.append(departure(blocks, climb(blocks, P, 1000, steps=30, level=True)))
    assert stats.kstest(found, stats.chi2(4).cdf).pvalue > 0.001
    blocks = _blocks(0.0004, 1, louder_ahead=0.3)
    assert not follows_distance(blocks, climb(blocks, P, 1000, steps=30, level=True))
    blocks = _blocks(0.0004, 1)
    assert follows_distance(blocks, climb(blocks, P, 1000, steps=30, level=True))
