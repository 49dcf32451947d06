"""A faint tone that keeps its phase from end to end is told from vowels that happen to fit."""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import TONE

from wayside.measure.demod import Blocks
from wayside.measure.motion import phase_model
from wayside.measure.snatches import in_snatches

BLOCK_S = 0.02


def _heard(level: float, rng: np.random.Generator, turned: np.ndarray | float = 0.0) -> Blocks:
    """Return two lines in white noise of unit power, their phase turned in every block."""
    times = np.arange(0.0, 4.0, BLOCK_S) + 0.5 * BLOCK_S
    model = phase_model(TONE, times)
    k = np.array([[1], [2]])
    noise = rng.standard_normal((2, times.size)) + 1j * rng.standard_normal((2, times.size))
    tone = level * model.spread * np.exp(2j * np.pi * k * turned)
    # the blocks are those along the curve itself
    return Blocks(
        times,
        tone + noise / np.sqrt(2.0),
        np.ones(2),
        np.array([1, 2]),
        TONE,
        BLOCK_S,
        model.cycles,
    )


@pytest.mark.parametrize("level", [0.5, 1.0, 2.0])
def test_a_source_that_keeps_its_phase_is_heard_throughout(level: float) -> None:
    said = [in_snatches(_heard(level, np.random.default_rng(seed)), TONE) for seed in range(200)]
    # the worst of four windows, each three standard deviations of chance away
    assert np.mean(said) < 0.03


@pytest.mark.parametrize("level", [2.0, 4.0])
def test_what_is_said_between_gives_a_voice_away(level: float) -> None:
    def of_vowels(seed: int) -> bool:
        rng = np.random.default_rng(seed)
        phases = np.repeat(rng.random(20), 10)
        # a half of the vowels happens to fit
        return in_snatches(_heard(level, rng, phases * (rng.random(20) < 0.5).repeat(10)), TONE)

    assert np.mean([of_vowels(seed) for seed in range(60)]) > 0.9
