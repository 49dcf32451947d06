"""Whether a sound as a whole rises and falls as a passing source does.

The sounds are noise whose power goes with 1/r^2 by hand (self-consistency).
"""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from wayside.measure.refine import Refined, Sound
from wayside.measure.swell import swell_of
from wayside.physics.passby import PassBy

RATE_HZ, LENGTH_S = 8000.0, 8.0
TIMES = np.arange(int(RATE_HZ * LENGTH_S)) / RATE_HZ
HUM = PassBy(300.0, 5.0, 2.0, 4.0, 343.2, 0.0, True)
READING = Refined(HUM, (1, 2, 3), 0.1, 500.0, False, 500.0)


def _sound(power: np.ndarray, seed: int = 0, background: float = 0.01) -> Sound:
    rng = np.random.default_rng(seed)
    x = np.sqrt(power) * rng.normal(size=TIMES.size)
    x += np.sqrt(background) * rng.normal(size=TIMES.size)
    return Sound(x.astype(np.float32), RATE_HZ, 0.0)


def _near(passing_s: float, crossing_s: float) -> np.ndarray:
    return 1.0 / (1.0 + ((TIMES - passing_s) / crossing_s) ** 2)


@settings(max_examples=20, deadline=None)
@given(
    late=st.floats(-0.8, 0.8),
    crossing=st.floats(0.25, 1.0),
    beat_hz=st.floats(3.0, 8.0),
    seed=st.integers(0, 2**20),
)
def test_what_passes_swells_even_if_it_beats(
    late: float, crossing: float, beat_hz: float, seed: int
) -> None:
    # one that is slower than the passing itself looks like a part of it
    assume(beat_hz * crossing >= 1.0)
    beating = 1.0 + 0.5 * np.cos(2.0 * np.pi * beat_hz * TIMES)
    passing = HUM.heard_passing_s + late
    swell = swell_of(_sound(_near(passing, crossing) * beating, seed), READING)
    assert swell is not None
    assert swell.passes


def test_what_keeps_its_level_or_only_fades_does_not() -> None:
    falls = 10.0 ** (-2.0 * np.clip((TIMES - 3.5) / 2.0, 0.0, 1.0))
    syllables = (np.sin(2.0 * np.pi * 1.7 * TIMES) > 0.0) + 0.003
    for power in (np.ones(TIMES.size), falls, falls[::-1], syllables):
        swell = swell_of(_sound(power), READING)
        assert swell is None or not swell.passes


def test_too_little_sound_tells_nothing() -> None:
    short = Sound(np.ones(2000, dtype=np.float32), RATE_HZ, 4.0)
    assert swell_of(short, READING) is None
