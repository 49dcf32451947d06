"""Recordings without a pass-by, one of every kind, are refused with a reason.

`docs/validation/refusal.md` holds how many of thousands are.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.benchmarks.refusal import called
from tests.core.measure.recordings import RATE, TONE, options, recorded, sound_of

from wayside.measure.fitted import ModelFit
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.result import Track
from wayside.measure.shape import judge_shape
from wayside.measure.strays import heard_share
from wayside.measure.unrest import Unrest
from wayside.physics.passby import PassBy
from wayside.simulate.negatives import NEGATIVES, negative
from wayside.sound.recording import Recording


@pytest.mark.parametrize("kind", NEGATIVES)
def test_what_is_no_pass_by_is_not_called_one(kind: str) -> None:
    m = measure(Recording.from_array(negative(kind, 0, 2.5, 8000.0), 8000.0))
    assert not m.found, m.fit and m.fit.passby
    assert (m.fit, m.track, m.two_window, m.alternatives) == (None, None, None, ())
    assert m.detection.reason.startswith("No pass-by found: ")
    assert m.detection.reason.endswith(".")
    assert np.isfinite(m.detection.statistic)
    assert m.detection.threshold > 0


def test_a_glide_that_rises_is_not_a_pass_by() -> None:
    # the pass-by run backwards: the same evidence, the wrong way round
    backwards = Recording.from_array(sound_of()[::-1], RATE)
    assert not measure(backwards, options()).found


def test_a_pass_by_of_even_loudness_is_a_mimic() -> None:
    """A glissando along the very curve, but not loudest in the middle."""
    t = np.arange(int(3.2 * RATE)) / RATE
    cycles = TONE.source_phase(TONE.emission_time(t))
    even = 0.1 * np.sin(2 * np.pi * cycles)
    even += 1e-3 * np.random.default_rng(1).standard_normal(t.size)
    assert not measure(Recording.from_array(even, RATE), options()).found
    rising = even * np.linspace(0.2, 1.0, t.size)
    assert not measure(Recording.from_array(rising, RATE), options()).found


def test_a_true_one_is_found_with_evidence_above_the_threshold() -> None:
    m = measure(recorded(), MeasureOptions())
    assert m.found
    assert m.detection.statistic >= m.detection.threshold
    assert 0 < m.detection.false_alarm_rate <= 0.005


def test_a_voice_that_comes_and_goes_is_told_by_its_gaps() -> None:
    p = PassBy(300.0, 6.0, 2.0, 2.0, 343.2, 0.0, True)
    model = ModelFit(p, np.eye(5) * 1e-4, "incoherent", Unrest(walk=0.1), 0.0, np.zeros(5))
    times = np.arange(0.1, 4.0, 0.1)
    every = Track(times, p.pitch(times), np.full(times.size, 0.1), np.zeros(times.size))
    assert heard_share(model, every) == 1.0
    kept = np.isin(np.arange(times.size) % 5, (0, 1))
    some = Track(every.times_s[kept], every.pitch_hz[kept], every.u_hz[kept], every.level_db[kept])
    assert heard_share(model, some) == pytest.approx(0.4, abs=0.1)
    faults = judge_shape(model, some, -60.0).faults
    assert any("comes and goes" in fault for fault in faults)
    # a fade at both ends is what distance does
    near = np.abs(times - 2.0) < 1.2
    faded = Track(every.times_s[near], every.pitch_hz[near], every.u_hz[near], every.level_db[near])
    assert heard_share(model, faded) == 1.0


@pytest.mark.parametrize(
    ("kind", "seed"),
    [
        ("speech", 14),
        ("speech", 19),
        ("speech", 8013),
        ("speech", 9013),
        ("wind", 8007),
        ("sliding note", 32009),
        ("engine run-down", 32013),
        # its curve left the recording on the way
        ("vibrato", 32015),
        # half a turn kept to some curve
        ("vibrato", 99609),
    ],
)
def test_recordings_once_taken_for_a_pass_are_refused(kind: str, seed: int) -> None:
    found, _ = called((kind, seed))
    assert not found


@pytest.mark.parametrize("frames", [0, 1])
def test_a_tone_that_no_frame_shows_is_refused(frames: int) -> None:
    p = PassBy(300.0, 6.0, 2.0, 2.0)
    model = ModelFit(p, np.eye(5) * 1e-6, "coherent", Unrest(), 0.0, np.zeros(5))
    few = np.full(frames, 2.0)
    faults = judge_shape(model, Track(few, 300.0 + 0 * few, few, few), -60.0).faults
    assert any("too briefly" in fault for fault in faults)


def test_a_mimic_is_named() -> None:
    t = np.arange(int(3.2 * RATE)) / RATE
    cycles = TONE.source_phase(TONE.emission_time(t))
    even = 0.1 * np.sin(2 * np.pi * cycles) * np.linspace(0.1, 1.0, t.size)
    even += 1e-3 * np.random.default_rng(1).standard_normal(t.size)
    reason = measure(Recording.from_array(even, RATE), options()).detection.reason
    assert "mimics a passing source" in reason
