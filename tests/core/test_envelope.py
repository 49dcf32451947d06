"""The level plot's numbers, against signals of known level."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wayside.errors import Cancelled, InputError
from wayside.jobs import Job
from wayside.sound.envelope import FLOOR_DB, envelope
from wayside.sound.recording import Recording

RATE = 8000.0


def test_a_sine_has_its_own_peak_and_level() -> None:
    t = np.arange(8000) / RATE
    recording = Recording.from_array(0.5 * np.sin(2 * np.pi * 200 * t), RATE)
    e = envelope(recording, 0.0, 1.0, 50)
    assert e.high == pytest.approx(np.full(50, 0.5), abs=0.01)
    assert e.low == pytest.approx(np.full(50, -0.5), abs=0.01)
    # relative to a full-scale sine: 20 log10 0.5
    assert e.level_db == pytest.approx(np.full(50, 20 * np.log10(0.5)), abs=0.01)
    assert e.times_s[0] == pytest.approx(0.01)


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 400), st.floats(-0.5, 0.4), st.floats(0.5, 1.5), st.floats(0, 2))
def test_no_sample_is_missed(columns: int, start: float, stop: float, clock: float) -> None:
    rng = np.random.default_rng(columns)
    sound = rng.normal(0, 0.1, 4000).astype(np.float32)
    recording = Recording.from_array(sound, 4000.0, start_s=clock)
    e = envelope(recording, clock + start, clock + stop, columns)
    a, b = (min(max(round(x * 4000), 0), 4000) for x in (start, stop))
    assert e.high.max() == pytest.approx(max(float(sound[a:b].max()), 0.0), abs=1e-6)
    assert e.low.min() == pytest.approx(min(float(sound[a:b].min()), 0.0), abs=1e-6)


def test_outside_is_silence() -> None:
    recording = Recording.from_array(np.ones(100), 100.0)
    e = envelope(recording, -1.0, 2.0, 3)
    assert list(e.high) == [0.0, 1.0, 0.0]
    assert e.level_db[0] == FLOOR_DB


def test_a_long_recording_is_read_in_blocks_and_can_be_stopped() -> None:
    class Long:
        most = 0

        def read(self, start: int, stop: int) -> np.ndarray:
            Long.most = max(Long.most, stop - start)
            return np.zeros((stop - start, 1), dtype=np.float32)

    hour = Recording("hour", 48000.0, 3600 * 48000, 1, Long())
    envelope(hour, 0.0, 3600.0, 1000)
    assert Long.most <= 1 << 20
    steps: list[float] = []
    job = Job(lambda f, m: steps.append(f), lambda: len(steps) > 2)
    with pytest.raises(Cancelled):
        envelope(hour, 0.0, 3600.0, 1000, job)


@pytest.mark.parametrize(("start", "stop", "columns"), [(1, 1, 5), (0, 1, 0), (0, 1, 10**5)])
def test_impossible_stretches_are_refused(start: float, stop: float, columns: int) -> None:
    with pytest.raises(InputError):
        envelope(Recording.from_array(np.ones(10), 10.0), start, stop, columns)
