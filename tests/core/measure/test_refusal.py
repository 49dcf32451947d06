"""Recordings without a pass-by, every kind of them, are refused with a reason."""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import RATE, TONE, options, recorded, sound_of

from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.simulate.negatives import NEGATIVES, negative
from wayside.sound.recording import Recording


@pytest.mark.parametrize("kind", NEGATIVES)
def test_what_is_no_pass_by_is_not_called_one(kind: str) -> None:
    for seed in (0, 1):
        m = measure(Recording.from_array(negative(kind, seed, 2.5, 8000.0), 8000.0))
        assert not m.found, f"seed {seed}: {m.fit and m.fit.passby}"
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
