"""Tones beside a recording: pitch, loudness, soft ends, and a peak that is never passed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wayside.errors import InputError
from wayside.listen.tones import (
    PEAK_DBFS,
    alternate,
    matched_tone,
    pass_sound,
    rms,
    safe,
    softened,
    together,
    tone,
)
from wayside.physics.passby import PassBy

RATE = 44_100.0


def _peak_pitch(x: np.ndarray, rate: float = RATE) -> float:
    power = np.abs(np.fft.rfft(x * np.hanning(x.size), 8 * x.size))
    return float(np.argmax(power) * rate / (8 * x.size))


@settings(max_examples=40, deadline=None)
@given(
    pitch=st.floats(30, 20_000),
    duration=st.floats(0.001, 1.0),
    harmonics=st.lists(st.floats(0, 1), min_size=1, max_size=6).map(tuple),
    level=st.floats(0, 10),
    peak=st.floats(-60, 0),
)
def test_no_tone_passes_its_peak_or_starts_hard(
    pitch: float, duration: float, harmonics: tuple[float, ...], level: float, peak: float
) -> None:
    x = tone(pitch, duration, RATE, harmonics, level, peak)
    assert x.dtype == np.float32
    assert x.size == max(1, round(duration * RATE))
    assert np.max(np.abs(x)) <= 10 ** (peak / 20)
    assert x[0] == 0.0
    assert x.size == 1 or x[-1] == 0.0


def test_pitch_and_loudness_are_those_asked_for() -> None:
    x = tone(523.25, 1.0, RATE, level_rms=0.05)
    assert _peak_pitch(x) == pytest.approx(523.25, abs=0.1)
    assert rms(x[4000:-4000]) == pytest.approx(0.05, rel=0.01)


def test_harmonics_above_half_the_sample_rate_do_not_fold_back() -> None:
    x = tone(9000.0, 0.5, 44_100.0, (1.0, 0.5, 0.5, 0.5))
    power = np.abs(np.fft.rfft(x * np.blackman(x.size))) ** 2
    hz = np.fft.rfftfreq(x.size, 1 / 44_100.0)
    lines = (np.abs(hz - 9000) < 60) | (np.abs(hz - 18_000) < 60)
    assert power[~lines].sum() < 1e-6 * power.sum()


def test_a_matched_tone_is_as_long_and_as_loud() -> None:
    recorded = np.random.default_rng(1).standard_normal(30_000) * 0.03
    x = matched_tone(recorded, RATE, 700.0)
    assert x.size == recorded.size
    assert rms(x[3000:-3000]) == pytest.approx(rms(recorded), rel=0.02)


def test_turns_go_recorded_predicted_and_are_equally_loud() -> None:
    # loud beyond the peak allowed: both must be turned down alike
    recorded = 0.9 * np.sin(2 * np.pi * 500 * np.arange(int(RATE)) / RATE)
    predicted = 0.01 * np.sin(2 * np.pi * 800 * np.arange(int(RATE)) / RATE)
    x = alternate(recorded, predicted, RATE, turn_s=0.5, pause_s=0.1)
    turn, gap = round(0.5 * RATE), round(0.1 * RATE)
    starts = [i * (turn + gap) for i in range(4)]
    assert x.size == 4 * (turn + gap)
    assert [round(_peak_pitch(x[s : s + turn])) for s in starts] == [500, 800, 500, 800]
    loud = [rms(x[s + 2000 : s + turn - 2000]) for s in starts]
    assert loud == pytest.approx([loud[0]] * 4, rel=1e-3)
    assert all(np.all(x[s + turn : s + turn + gap] == 0) for s in starts)
    assert np.max(np.abs(x)) <= 10 ** (PEAK_DBFS / 20)


def test_two_pitches_together_beat_at_their_difference() -> None:
    # cos a + cos b = 2 cos((a - b)/2) cos((a + b)/2): the envelope repeats at |fa - fb|
    a, b = tone(440.0, 2.0, RATE), tone(444.0, 2.0, RATE)
    x = together(a, b, RATE)
    envelope = np.abs(x[4000:-4000]) ** 2
    spectrum = np.abs(np.fft.rfft(envelope - envelope.mean()))
    hz = np.fft.rfftfreq(envelope.size, 1 / RATE)
    slow = hz < 50
    assert hz[slow][np.argmax(spectrum[slow])] == pytest.approx(4.0, abs=0.3)
    assert np.max(np.abs(x)) <= 10 ** (PEAK_DBFS / 20)


def test_a_synthesised_pass_glides_between_its_limits_and_is_loudest_at_the_passing() -> None:
    p = PassBy(600.0, 15.0, 2.0, 4.0)
    x = pass_sound(p, 0.0, 8.0, RATE, (1.0, 0.3))
    second = int(RATE)
    assert _peak_pitch(x[second // 4 : second]) == pytest.approx(p.approach_hz, rel=5e-4)
    assert _peak_pitch(x[-second : -second // 4]) == pytest.approx(p.recede_hz, rel=5e-4)
    loud = np.array([rms(part) for part in np.array_split(x, 80)])
    assert abs(np.argmax(loud) / 10 + 0.05 - p.passing_time_s) < 0.15
    assert np.max(np.abs(x)) <= 10 ** (PEAK_DBFS / 20)


def test_softening_leaves_the_middle_alone() -> None:
    x = np.ones(1000)
    y = softened(x, 1000.0, 0.1)
    assert y[0] == y[-1] == 0.0
    assert np.all(y[100:900] == 1.0)
    assert np.all(np.diff(y[:100]) > 0)
    assert np.array_equal(y, y[::-1])
    assert softened(np.ones(0), 1000.0).size == 0


def test_sound_is_turned_down_but_never_up() -> None:
    assert np.array_equal(safe(np.array([0.01, -0.02])), np.array([0.01, -0.02], dtype=np.float32))
    assert np.max(np.abs(safe(np.array([5.0, -9.0]), -6.0))) == pytest.approx(10 ** (-6 / 20))


@pytest.mark.parametrize(
    ("pitch", "duration", "peak"),
    [
        (0.0, 1.0, -12.0),
        (-5.0, 1.0, -12.0),
        (30_000.0, 1.0, -12.0),
        (math.nan, 1.0, -12.0),
        (440.0, 0.0, -12.0),
        (440.0, math.inf, -12.0),
        (440.0, 1e6, -12.0),
        (440.0, 1.0, 3.0),
        (440.0, 1.0, math.nan),
    ],
)
def test_what_cannot_be_played_is_refused(pitch: float, duration: float, peak: float) -> None:
    with pytest.raises(InputError, match=r"[;] (choose|give)"):
        tone(pitch, duration, RATE, peak_dbfs=peak)


def test_an_empty_stretch_cannot_be_compared() -> None:
    with pytest.raises(InputError, match="no sound"):
        together(np.zeros(0), np.zeros(10), RATE)
