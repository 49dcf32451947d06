"""Lines that clipping adds, told from those of the source.

Envelopes of known size, and the spectrum of a clipped sine from its Fourier series.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.benchmarks.scenarios import drawn, record, truth
from tests.core.measure.recordings import HUM

from wayside.measure.demod import Blocks
from wayside.measure.distortion import added
from wayside.measure.motion import phase_model
from wayside.measure.pipeline import measure

TIMES = np.arange(0.0, 5.0, 0.02)
NOISE = 0.001
SPREAD = phase_model(HUM, TIMES).spread


def _blocks(*sizes: np.ndarray) -> Blocks:
    rng = np.random.default_rng(5)
    z = np.array(sizes, dtype=complex)
    z *= np.exp(2j * np.pi * rng.uniform(size=z.shape))
    z += math.sqrt(NOISE / 2) * (rng.normal(size=z.shape) + 1j * rng.normal(size=z.shape))
    k = np.arange(1, len(sizes) + 1)
    cycles = phase_model(HUM, TIMES).cycles
    return Blocks(TIMES, z, np.full(len(sizes), NOISE), k, HUM, 0.02, cycles)


def _third(size: np.ndarray, top: float) -> np.ndarray:
    """Return half the third harmonic of clipped sines, as an envelope has it (Fourier series)."""
    turn = np.linspace(0.0, 2 * np.pi, 720, endpoint=False)
    wave = np.clip(size[:, None] * np.sin(turn), -top, top)
    return np.abs(wave @ np.exp(-3j * turn)) / turn.size


def test_what_clipping_adds_is_told_from_what_the_source_sounds() -> None:
    # clipped to 1.4 crossing times from the passing, where 1/r leaves 0.58 of the size
    size, top = 2.0 * SPREAD, 2.0 * 0.58
    clipped = _third(size, top)
    away = np.abs(TIMES - HUM.heard_passing_s) * HUM.speed_mps / HUM.closest_m
    assert clipped.max() > 0.1
    assert clipped[away > 1.5].max() < 1e-9
    blocks = _blocks(np.minimum(size, 1.2 * top), 0.4 * SPREAD, clipped)
    assert added(blocks, HUM).tolist() == [False, False, True]


def test_what_is_heard_near_the_passing_alone_is_only_added_by_what_is_lower_and_louder() -> None:
    away = np.abs(TIMES - HUM.heard_passing_s) * HUM.speed_mps / HUM.closest_m
    brief = np.where(away < 1.2, 0.5, 0.0)
    assert added(_blocks(SPREAD, brief), HUM).tolist() == [False, True]
    # neither a lower line nor a louder one is made by clipping
    assert not added(_blocks(brief, SPREAD), HUM).any()
    assert not added(_blocks(0.2 * SPREAD, brief), HUM).any()


def test_a_faint_line_of_which_nothing_can_be_left_is_kept() -> None:
    # a twentieth of the noise at most is left of it far away
    faint = np.where(np.abs(TIMES - HUM.heard_passing_s) < 0.4, 0.02, 0.0)
    assert not added(_blocks(SPREAD, faint), HUM).any()


def test_where_far_or_near_is_not_heard_nothing_is_left_out() -> None:
    blocks = _blocks(SPREAD, np.where(SPREAD > 0.6, SPREAD, 0.0))
    about = np.abs(TIMES - HUM.heard_passing_s) < HUM.closest_m / HUM.speed_mps
    assert added(blocks, HUM).tolist() == [False, True]
    assert not added(blocks.where(about), HUM).any()


def test_two_tyres_that_were_clipped_are_not_heard_too_near() -> None:
    # clipped at 0.48 of its peak: with the lines that adds, ten uncertainties too near
    run = drawn("hum, two wheels, any recording", 146)
    m = measure(record(run, 146), run.options, others=False)
    assert m.fit is not None
    d, true = m.fit.closest_m, truth(run, 146, m.fit.passby)
    assert d.value == pytest.approx(true.closest_m, abs=3.0 * d.u)
    assert m.fit.speed_mps.value == pytest.approx(true.speed_mps, abs=3.0 * m.fit.speed_mps.u)
