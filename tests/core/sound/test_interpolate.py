"""Reading between samples, against sines known in closed form and scipy's Fourier resampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import signal

from wayside.sound.interpolate import HALF, read_at
from wayside.sound.recording import Recording

RATE = 48_000.0


def _sine(hz: float, n: int = 6000, start_s: float = 0.0) -> Recording:
    t = start_s + np.arange(n) / RATE
    return Recording.from_array(np.sin(2 * np.pi * hz * t), RATE, start_s=start_s)


@pytest.mark.parametrize("hz", [50.0, 1000.0, 3000.0, 6000.0, 12_000.0, 18_000.0, 20_000.0])
def test_a_sine_is_read_to_a_hundred_thousandth(hz: float) -> None:
    rng = np.random.default_rng(3)
    times = np.sort(rng.uniform(0.01, 0.11, 3000))
    error = read_at(_sine(hz), times)[:, 0] - np.sin(2 * np.pi * hz * times)
    assert np.sqrt(np.mean(error**2)) < 1e-5


def test_band_limited_noise_agrees_with_fourier_resampling() -> None:
    # scipy.signal.resample: exact for periodic sound
    spectrum = np.fft.rfft(np.random.default_rng(1).standard_normal(4096))
    spectrum[int(0.85 * len(spectrum)) :] = 0
    x = np.fft.irfft(spectrum)
    dense = signal.resample(x, 5 * x.size)
    times = np.arange(dense.size) / (5 * RATE)
    inner = slice(5 * 2 * HALF, -5 * 2 * HALF)
    read = read_at(Recording.from_array(x, RATE), times[inner])[:, 0]
    assert np.max(np.abs(read - dense[inner])) < 1e-4 * np.std(x)


def test_sample_times_give_the_samples() -> None:
    x = np.random.default_rng(2).uniform(-1, 1, (500, 2)).astype(np.float32)
    recording = Recording.from_array(x, RATE, start_s=7.25)
    times = 7.25 + np.arange(100, 400) / RATE
    assert np.allclose(read_at(recording, times), x[100:400], atol=2e-6)


@settings(max_examples=30, deadline=None)
@given(offset=st.floats(-0.9, 0.9), at=st.floats(0.002, 0.03))
def test_a_steady_offset_stays_steady(offset: float, at: float) -> None:
    recording = Recording.from_array(np.full(2000, offset), RATE)
    assert read_at(recording, np.array([at]))[0, 0] == pytest.approx(offset, abs=1e-6)


@pytest.mark.parametrize("where", [-5.0, -2e-3, 0.2, 400.0])
def test_outside_there_is_silence(where: float) -> None:
    read = read_at(_sine(440.0), where + np.arange(40) / RATE)
    assert np.all(read == 0.0)


def test_pitches_read_too_fast_do_not_fold_back() -> None:
    speed = 1.3
    times = np.arange(300, 4000) * speed / RATE
    folded = read_at(_sine(22_000.0), times, cutoff=1.0)[:, 0]
    kept = read_at(_sine(22_000.0), times, cutoff=1.0 / speed)[:, 0]
    assert np.std(folded) > 0.5
    assert np.std(kept) < 1e-4


def test_reading_in_parts_is_reading_at_once() -> None:
    recording = _sine(5000.0, 40_000)
    times = np.linspace(0.0, 0.83, 20_000)
    parts = np.concatenate([read_at(recording, part) for part in np.split(times, [77, 8000, 8192])])
    assert np.allclose(parts, read_at(recording, times), atol=1e-7)
