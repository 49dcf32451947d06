"""A buzzer that sounds in regular pulses is measured, one without a beat is none.

The passes are made by `tests.benchmarks.vehicles`, apart from the program's own simulator.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from tests.benchmarks.vehicles import recorded
from tests.core.measure.recordings import LENGTH_S, RATE, TONE, sound_of

from wayside.measure import along
from wayside.measure.interrupted import Pulses, pulses_of
from wayside.measure.motion import phase_model
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.refine import Refined, Sound, blocks_of
from wayside.sound.recording import Recording

FloatArray = npt.NDArray[np.float64]
BEEPING = "rider with a buzzer that beeps"
START = Refined(TONE, (1, 2), 1e4, 1e4, False, 0.1)


def _switched(on: npt.NDArray[np.bool_]) -> Sound:
    """Return the passing buzzer, heard where `on` says so in its own time; hiss throughout."""
    rng = np.random.default_rng(4)
    noise = 1e-3 * rng.standard_normal(on.size)
    return Sound((sound_of() * on + noise).astype(np.float32), RATE, 0.0)


def _own_time() -> FloatArray:
    return np.asarray(TONE.emission_time(np.arange(int(LENGTH_S * RATE)) / RATE))


def test_regular_pulses_are_found_where_they_are_heard() -> None:
    since = _own_time() + 1.0
    pulses = pulses_of(_switched(since % 0.4 < 0.25), START)
    assert pulses is not None
    # the first was cut by the beginning; each other begins in step with the beat, a margin after
    begun = np.asarray(TONE.emission_time(pulses.starts_s[1:]))
    late = (begun + 1.0) % 0.4
    assert np.all((late > 0.0) & (late < 0.045))
    assert np.all(pulses.stops_s - pulses.starts_s < 0.25)
    assert pulses.starts_s.size >= 6


@pytest.mark.parametrize("seed", range(4))
def test_what_keeps_no_beat_is_no_buzzer(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turns = np.cumsum(rng.uniform(0.08, 0.5, 20)) - 1.0
    assert pulses_of(_switched(np.searchsorted(turns, _own_time()) % 2 == 0), START) is None


def test_what_sounds_throughout_has_no_pulses() -> None:
    assert pulses_of(_switched(np.ones(int(LENGTH_S * RATE), dtype=bool)), START) is None


def test_times_are_given_to_their_pulse() -> None:
    pulses = Pulses(np.array([1.0, 2.0]), np.array([1.5, 2.5]), 0.01)
    times = np.array([0.5, 1.0, 1.4, 1.7, 2.2, 3.0])
    assert pulses.number(times).tolist() == [-1, 0, 0, -1, 1, -1]


def test_pulses_are_brought_in_step_with_one_another() -> None:
    since = _own_time() + 1.0
    sound = _switched(since % 0.4 < 0.25)
    pulses = pulses_of(sound, START)
    assert pulses is not None
    blocks = pulses.within(blocks_of(sound, TONE, (1, 2), pulses.block_s))
    number = pulses.number(blocks.times_s)
    begun = np.random.default_rng(1).random(number.max() + 1)[number]
    k = blocks.harmonics[:, None]
    restarted = replace(blocks, z=blocks.z * np.exp(2j * np.pi * k * begun))
    y = pulses.in_step(restarted, TONE).turned(phase_model(TONE, blocks.times_s).cycles)
    together = np.abs(y.sum(axis=1)) / np.abs(y).sum(axis=1)
    assert np.all(together > 0.99)


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_a_beeping_buzzer_is_measured(seed: int) -> None:
    recording, p = recorded(BEEPING, seed)
    result = measure(recording, MeasureOptions(), others=False)
    assert result.found
    assert result.fit is not None
    v = result.fit.speed_mps
    assert abs(v.value - p.speed_mps) < 2.5 * v.u
    assert v.u < 0.05 * p.speed_mps
    assert any("regular pulses" in text for text in result.warnings)


def test_a_beeping_buzzer_at_standstill_is_refused() -> None:
    times = np.arange(8 * RATE) / RATE
    rng = np.random.default_rng(2)
    beeps = np.sin(2 * np.pi * 1500.0 * times) * (times % 0.5 < 0.3)
    sound = 0.3 * beeps + 0.01 * rng.standard_normal(times.size)
    result = measure(Recording.from_array(sound.astype(np.float32), RATE), MeasureOptions())
    assert not result.found


@pytest.mark.parametrize("seed", [0])
def test_a_pitch_that_moves_too_fast_to_follow_is_not_given_a_speed(seed: int) -> None:
    recording, p = recorded("rider with a buzzer of two tones in turn", seed)
    result = measure(recording, MeasureOptions(), others=False)
    if result.fit is not None:
        assert abs(result.fit.speed_mps.value - p.speed_mps) < 4.0 * result.fit.speed_mps.u


def test_blocks_hold_no_source_that_turns_half_a_cycle_in_each() -> None:
    blocks = blocks_of(_switched(np.ones(int(LENGTH_S * RATE), dtype=bool)), TONE, (1, 2), 0.02)
    assert along.holds(blocks, TONE.with_(source_hz=TONE.source_hz + 20.0))
    assert not along.holds(blocks, TONE.with_(source_hz=TONE.source_hz + 30.0))
