"""Whether the level of a glide follows any passing, asked before the glide is fitted.

The tracks and recordings are made by hand (self-consistency).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.measure.recordings import RATE, TONE, options

from wayside.measure import pipeline
from wayside.measure.asked import FAR_TOO_FAST, Both, as_a_tyre, loud_tyre
from wayside.measure.bicycle import FASTEST_MPS
from wayside.measure.outset import LEAST_CORRELATION, best_likeness, level_is_even
from wayside.measure.pipeline import measure
from wayside.measure.refine import Refined, Sound
from wayside.measure.result import Track
from wayside.physics.passby import PassBy
from wayside.sound.recording import Recording

NOISE_DB = -30.0
T = np.arange(int(3.2 * RATE)) / RATE
EVEN, NEAR = np.ones(T.size), TONE.closest_m / TONE.distance(TONE.emission_time(T))


def _track(times: np.ndarray, level_db: np.ndarray) -> Track:
    return Track(times, np.full(times.size, 300.0), np.full(times.size, 0.1), level_db)


@settings(max_examples=40, deadline=None)
@given(
    passing=st.floats(3.0, 5.0),
    crossing=st.floats(0.15, 1.5),
    step=st.floats(0.05, 0.12),
    rough_db=st.floats(0.0, 2.0),
    seed=st.integers(0, 2**20),
)
def test_the_level_of_what_passes_is_like_one(
    passing: float, crossing: float, step: float, rough_db: float, seed: int
) -> None:
    times = np.arange(0.5, 7.5, step)
    level = -10.0 * np.log10(1.0 + ((times - passing) / crossing) ** 2)
    level += rough_db * np.random.default_rng(seed).normal(size=times.size)
    likeness = best_likeness(_track(times, level), NOISE_DB, 4.0, 1.5)
    assert likeness > 2.0 * LEAST_CORRELATION


def test_a_level_that_goes_up_and_down_by_chance_is_not() -> None:
    times = np.arange(0.5, 12.5, 0.08)
    alike = []
    for seed in range(40):
        level = 3.0 * np.random.default_rng(seed).normal(size=times.size)
        alike.append(best_likeness(_track(times, level), NOISE_DB, 6.0, 1.5))
    assert np.mean(np.array(alike) < LEAST_CORRELATION) >= 0.9
    # nor is one that keeps to its level
    assert best_likeness(_track(times, np.zeros(times.size)), NOISE_DB, 6.0, 1.5) < 1e-6


@settings(max_examples=40, deadline=None)
@given(crossing=st.floats(0.2, 0.8), gap=st.floats(4.0, 10.0), louder=st.floats(0.1, 4.0))
def test_who_rides_by_next_is_left_out(crossing: float, gap: float, louder: float) -> None:
    times = np.arange(0.0, 16.0, 0.06)
    both = [
        loud / (1.0 + ((times - at) / crossing) ** 2) for loud, at in ((1, 4), (louder, 4 + gap))
    ]
    level = _track(times, 10.0 * np.log10(both[0] + both[1]))
    assert best_likeness(level, NOISE_DB, 4.0, 1.5) > 0.8


def test_a_passing_before_the_sound_or_after_it_is_looked_for_at_its_end() -> None:
    times = np.arange(0.0, 4.0, 0.05)
    falling = _track(times, -10.0 * np.log10(1.0 + ((times + 0.3) / 0.8) ** 2))
    assert best_likeness(falling, NOISE_DB, -2.0, 1.0) > 0.9
    assert best_likeness(_track(times, -falling.level_db), NOISE_DB, -2.0, 1.0) < 0.0


def _wandering(louder: np.ndarray, seed: int = 1) -> np.ndarray:
    """Return a hum along the curve of a passing, its phase lost within a tenth of a second."""
    rng = np.random.default_rng(seed)
    walk = np.cumsum(rng.normal(0.0, np.sqrt(2.0 / 0.1 / RATE), T.size)) / (2.0 * np.pi)
    cycles = TONE.source_phase(TONE.emission_time(T)) + walk
    x = 0.1 * louder * sum(np.sin(2 * np.pi * k * cycles) / k for k in (1, 2, 3))
    return np.asarray(x + 1e-3 * rng.standard_normal(T.size))


def test_what_keeps_its_level_is_refused_before_it_is_fitted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fitted(*_: object) -> None:
        raise RuntimeError("fitted")

    monkeypatch.setattr(pipeline, "_followed", fitted)
    even = measure(Recording.from_array(_wandering(EVEN), RATE), options())
    assert not even.found
    assert "not loudest where its pitch falls fastest" in even.detection.reason
    with pytest.raises(RuntimeError, match="fitted"):
        measure(Recording.from_array(_wandering(NEAR), RATE), options())


def _sound(louder: np.ndarray) -> Sound:
    return Sound(_wandering(louder).astype(np.float32), RATE, 0.0)


def test_one_that_keeps_its_phase_speaks_for_itself() -> None:
    wandering = Refined(TONE, (1, 2, 3), 500.0, 500.0, False, 0.1)
    kept = Refined(TONE, (1, 2, 3), 500.0, 500.0, True, 3.2)
    even = _sound(EVEN)
    assert level_is_even(even, wandering)
    assert not level_is_even(even, kept)
    assert not level_is_even(_sound(NEAR), wandering)


def test_both_wheels_are_asked_for_where_a_rider_may_be_heard() -> None:
    t = np.arange(int(8.0 * RATE)) / RATE
    p = PassBy(300.0, 5.0, 2.0, 4.0, 343.2, 0.0, True)
    rng = np.random.default_rng(2)
    noise = rng.standard_normal(t.size)
    near = p.closest_m / p.distance(p.emission_time(t))
    swelling = Sound((near * noise).astype(np.float32), RATE, 0.0)
    level = Sound(noise.astype(np.float32), RATE, 0.0)

    def reading(q: PassBy) -> Refined:
        return Refined(q, (1, 2), 500.0, 500.0, False, 0.1)

    assert as_a_tyre(swelling, reading(p)) is Both.LIKELY
    assert as_a_tyre(level, reading(p)) is Both.NOT
    # no tread makes such a pitch, and nobody rides so fast by so near
    assert as_a_tyre(swelling, reading(p.with_(source_hz=2500.0))) is Both.NOT
    fast = 1.1 * FAR_TOO_FAST * FASTEST_MPS
    assert as_a_tyre(swelling, reading(p.with_(speed_mps=fast))) is Both.NOT
    # a slowing that passed for a passing seems fast, but distant
    assert as_a_tyre(swelling, reading(p.with_(speed_mps=fast, closest_m=60.0))) is Both.LIKELY
    # a lower swell may be one, of which less is asked
    raised = Sound(((near + 0.8) * noise).astype(np.float32), RATE, 0.0)
    assert as_a_tyre(raised, reading(p)) is Both.MAYBE
    assert loud_tyre(raised, reading(p)) is Both.NOT
    assert loud_tyre(swelling, reading(p)) is Both.LIKELY
