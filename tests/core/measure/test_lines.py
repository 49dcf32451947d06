"""Which lines belong to a source, beside others that sound when it does not (self-consistency)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from wayside.measure.lines import harmonic_series
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source

RATE = 16_000.0
P = PassBy(420.0, 6.0, 2.0, 2.0, 343.2)
WIDTH_S = 0.15


def _passing(harmonics: tuple[float, ...], p: PassBy = P) -> np.ndarray:
    scene = Scene((Source(p, harmonics, coherence_s=0.3),), 4.0, RATE, background=Background(15.0))
    return render(scene, 2)[:, 0].astype(np.float64)


def _bursts(x: np.ndarray, hz: float, seconds: tuple[float, ...], louder: float) -> np.ndarray:
    """Return a voice that says a few words at some pitch: a fifth of a second each."""
    t = np.arange(x.size) / RATE
    said = sum(np.exp(-(((t - s) / 0.07) ** 2)) for s in seconds)
    return np.asarray(louder * np.std(x) * said * np.sin(2.0 * np.pi * hz * t))


def _series(x: np.ndarray, line: PassBy = P) -> tuple[Fraction, tuple[int, ...]]:
    return harmonic_series(x.astype(np.float32), RATE, 0.0, line, WIDTH_S)


@pytest.mark.parametrize("words", [(0.6, 1.1), (1.3, 3.2), (2.6,)])
def test_words_below_a_hum_are_none_of_its_lines(words: tuple[float, ...]) -> None:
    hum = _passing((1.0,))
    talk = _bursts(hum, P.source_hz / 3.0, words, 3.0)
    talk += _bursts(hum, P.source_hz * 2.0 / 3.0, words, 3.0)
    assert _series(hum) == (1, (1,))
    assert _series(hum + talk) == (1, (1,))


def test_a_fainter_fundamental_is_kept_beside_words() -> None:
    third = P.with_(source_hz=P.source_hz / 3.0)
    hum = _passing((0.3, 0.0, 1.0), third)
    talk = _bursts(hum, P.source_hz / 2.0, (1.3, 3.2), 3.0)
    assert _series(hum + talk) == (3, (1, 3))


def test_lines_that_begin_together_are_kept() -> None:
    late = _passing((0.5, 1.0, 0.7), P.with_(source_hz=210.0))
    late[: int(1.9 * RATE)] = 0.05 * np.random.default_rng(1).normal(size=int(1.9 * RATE))
    assert _series(late) == (2, (1, 2, 3))
