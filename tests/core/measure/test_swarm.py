"""Thousands of starts about a faint brief pass.

The sound is the project's own rendering (self-consistency).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options

from wayside.jobs import QUIET
from wayside.measure.comb import Comb
from wayside.measure.ladder import edges_of, gains_of
from wayside.measure.lines import harmonic_series
from wayside.measure.pipeline import THRESHOLD, measure
from wayside.measure.refine import LostError, Sound, blocks_of, refine
from wayside.measure.search import Candidate
from wayside.measure.swarm import SNR_GRID, log_likelihoods, swarm
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene
from wayside.sound.recording import Recording

C = SOUND_SPEED.value
BRIEF = PassBy(250.0, 45.0, 1.5, 1.5, C)
SIX = tuple(1.0 / np.sqrt(k) for k in range(1, 7))
NUMBERS = (1, 2, 3, 4, 5, 6)


def _sound(tnr_db: float, seed: int, length_s: float = 3.0) -> Sound:
    scene = simple_scene(BRIEF, length_s, 44100.0, SIX, tnr_db).with_(convective=False)
    return Sound(render(scene, seed)[:, 0], 44100.0, 0.0)


def _row(p: PassBy) -> np.ndarray:
    return np.array([[p.source_hz, np.log(p.speed_mps), np.log(p.closest_m), p.passing_time_s]])


def test_with_one_window_it_is_the_ladder_s_likelihood_at_the_best_ratio() -> None:
    blocks = blocks_of(_sound(-10.0, 1), BRIEF, NUMBERS, 0.004)
    n = blocks.times_s.size
    gains = gains_of(blocks, BRIEF, edges_of(blocks, BRIEF, 2 * n))
    by_hand = gains[:, None] * SNR_GRID / (1.0 + SNR_GRID) - np.log1p(SNR_GRID)
    value = log_likelihoods(blocks, _row(BRIEF), 2 * n, (0, n), C, QUIET)
    assert value[0] == pytest.approx(np.maximum(by_hand.max(axis=1), 0.0).sum(), rel=1e-3)


def test_windows_of_noise_far_from_the_passing_count_for_nothing() -> None:
    rng = np.random.default_rng(2)
    noise = Sound(rng.standard_normal(3 * 44100).astype(np.float32), 44100.0, 0.0)
    blocks = blocks_of(noise, BRIEF, NUMBERS, 0.004)
    value = log_likelihoods(blocks, _row(BRIEF), 8, (0, blocks.times_s.size), C, QUIET)
    # the ladder's sum of the same windows has a mean of one nat a window and harmonic
    assert value[0] < 12.0


@pytest.mark.parametrize("wrong", [(1.0, 1.0), (0.5, 0.3), (1.5, 2.5)])
def test_a_brief_faint_pass_is_reached_from_afar(wrong: tuple[float, float]) -> None:
    sound = _sound(-13.0, 3)
    start = BRIEF.with_(
        source_hz=255.0,
        speed_mps=45.0 * wrong[0],
        closest_m=1.5 * wrong[1],
        passing_time_s=1.505,
    )
    best = swarm(blocks_of(sound, start, NUMBERS, 0.004), start, QUIET)[0]
    assert best.source_hz == pytest.approx(250.0, rel=0.002)
    assert best.speed_mps == pytest.approx(45.0, rel=0.02)


def test_a_brief_pass_of_six_faint_lines_is_measured() -> None:
    near = 0
    for seed in range(3):
        sound = _sound(-14.0, seed, 2.0)
        found = measure(Recording.from_array(sound.samples, 44100.0), options(), others=False)
        if found.fit is not None:
            assert found.fit.source_hz.value == pytest.approx(250.0, rel=0.003)
            assert found.fit.speed_mps.value == pytest.approx(45.0, rel=0.03)
            near += 1
    assert near >= 2


def test_thousands_of_starts_make_no_pass_of_noise() -> None:
    rng = np.random.default_rng(3)
    reached = []
    for _ in range(4):
        noise = Sound(rng.standard_normal(3 * 44100).astype(np.float32), 44100.0, 0.0)
        seen = Candidate(254.4, 0.13, 0.033, 1.5, 22.0, 0.0, 0)
        try:
            reached.append(refine(noise, seen, Comb(1, NUMBERS, 22.0), C, QUIET).glide_gain)
        except LostError:
            continue
    assert max(reached, default=0.0) < THRESHOLD


def test_multiples_of_one_line_are_the_series_of_that_line() -> None:
    sound = _sound(5.0, 4)
    half = BRIEF.with_(source_hz=125.0)
    divisor, harmonics = harmonic_series(sound.samples, 44100.0, 0.0, half, 0.1)
    assert 125.0 / divisor == pytest.approx(250.0)
    assert harmonics == NUMBERS
