"""Noise that goes with the tone: seen at its true size, counted, and nowhere invented.

Envelopes are made here with a known share of it (self-consistency).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import TONE

from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, climb, drifts, edges_of, sums_at
from wayside.measure.motion import phase_model
from wayside.measure.ownnoise import with_own_noise

TIMES = np.arange(0.2, 3.0, 0.02)
NOISE = np.array([1e-6, 2e-6])
SIZE = np.array([0.05, 0.03])


def _blocks(share: float, seed: int) -> Blocks:
    """Return a tone whose own noise has `share` of its power."""
    rng = np.random.default_rng(seed)
    model = phase_model(TONE, TIMES)

    def complex_noise() -> np.ndarray:
        return (rng.standard_normal((2, TIMES.size, 2)) @ [1, 1j]) / np.sqrt(2.0)

    tone = SIZE[:, None] * model.spread * (1.0 + np.sqrt(share) * complex_noise())
    z = tone + np.sqrt(NOISE)[:, None] * complex_noise()
    return Blocks(TIMES, z, NOISE, np.array([1, 2]), TONE, 0.02, model.cycles)


def test_the_share_is_found() -> None:
    share = 0.01
    sizes = []
    for seed in range(8):
        blocks = _blocks(share, seed)
        counted = with_own_noise(blocks, TONE)
        assert counted.evened is not None
        sizes.append(1.0 / counted.evened**2)
    middle = np.argmin(np.abs(TIMES - TONE.passing_time_s))
    expected = 1.0 + share * SIZE**2 / NOISE
    assert np.mean(sizes, axis=0)[:, middle] == pytest.approx(expected, rel=0.25)


def test_a_clean_tone_is_left_alone() -> None:
    changed = [with_own_noise(b, TONE) is not b for b in (_blocks(0.0, s) for s in range(40))]
    # by the chi-squared of one freedom, half of it at zero, one in 44 gains 2 nats
    assert sum(changed) <= 4


def test_silence_is_left_alone() -> None:
    blocks = _blocks(0.0, 1)
    silent = replace(blocks, z=np.zeros_like(blocks.z))
    assert with_own_noise(silent, TONE) is silent


def test_how_it_was_heard_comes_back() -> None:
    blocks = _blocks(0.01, 3)
    again = with_own_noise(blocks, TONE).as_heard()
    assert again.z == pytest.approx(blocks.z, rel=1e-12)
    assert again.law is None
    assert again.evened is None


def test_uncertainty_grows_by_what_the_noise_adds() -> None:
    """Least squares with known variances: errors over u are then of unit size."""
    z_plain, z_counted = [], []
    for seed in range(60):
        blocks = _blocks(0.02, 100 + seed)
        for out, one in ((z_plain, blocks), (z_counted, with_own_noise(blocks, TONE))):
            rung = climb(one, TONE, 4 * TIMES.size)
            u = np.sqrt(np.linalg.inv(2.0 * rung.normal)[3, 3]) * TONE.closest_m / TONE.speed_mps
            out.append((rung.passby.passing_time_s - TONE.passing_time_s) / u)
    assert np.std(z_plain) > 2.0
    assert np.std(z_counted) == pytest.approx(1.0, abs=0.28)  # three standard errors of 60


def test_courses_of_their_own_add_up_like_one() -> None:
    blocks = _blocks(0.0, 5)
    law = 1.0 / (1.0 + TIMES)
    one = replace(blocks, law=law)
    two = replace(blocks, law=np.tile(law, (2, 1)))
    p = TONE.with_(speed_mps=TONE.speed_mps * 1.001)
    edges = edges_of(blocks, p, 40)
    for level in (False, True):
        a, b = (sums_at(x, p, edges, CONSTANT, level) for x in (one, two))
        assert a.gain == pytest.approx(b.gain, rel=1e-12)
        assert a.gradient == pytest.approx(b.gradient, rel=1e-9)
        assert a.normal == pytest.approx(b.normal, rel=1e-9)
    for a, b in zip(drifts(one, p, edges), drifts(two, p, edges), strict=True):
        assert a == pytest.approx(b, rel=1e-9)
