"""The display spectrogram, against scipy.signal.spectrogram and signals of known level."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from wayside.errors import Cancelled, InputError
from wayside.jobs import Job
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import (
    CEILING_DB,
    FLOOR_DB,
    PictureRequest,
    draw,
    row_edges_hz,
    sharpest_window_s,
)

STEP_DB = (CEILING_DB - FLOOR_DB) / 255.0
RATE = 48000.0


def _sine(pitch_hz: float, amplitude: float, seconds: float, rate: float = RATE) -> Recording:
    t = np.arange(round(seconds * rate)) / rate
    return Recording.from_array(amplitude * np.sin(2 * np.pi * pitch_hz * t), rate, "sine")


def _row_of(request: PictureRequest, pitch_hz: float) -> int:
    return int(np.searchsorted(row_edges_hz(request), pitch_hz) - 1)


@pytest.mark.parametrize("log_pitch", [False, True])
@pytest.mark.parametrize(("pitch_hz", "amplitude"), [(440.0, 1.0), (1000.0, 0.1), (6000.0, 0.01)])
def test_a_sine_reads_its_own_level_at_its_own_pitch(
    pitch_hz: float, amplitude: float, log_pitch: bool
) -> None:
    recording = _sine(pitch_hz, amplitude, 2.0)
    request = PictureRequest(0.5, 1.5, 100.0, 8000.0, 40, 700, 0.08, log_pitch)
    picture = draw(recording, request)
    column = picture.levels[:, 20]
    row = int(np.argmax(column))
    assert abs(row - _row_of(request, pitch_hz)) <= 1
    assert picture.level_db(row, 20) == pytest.approx(20 * np.log10(amplitude), abs=1.0)


def test_agrees_with_scipy_spectrogram() -> None:
    rng = np.random.default_rng(5)
    samples = rng.normal(0.0, 0.1, 48000).astype(np.float32)
    recording = Recording.from_array(samples, RATE, "noise")
    frame, hop = 1024, 256  # a quarter frame a column: one frame each
    window = signal.windows.hann(frame, sym=False)
    freqs, times, power = signal.spectrogram(
        samples,
        RATE,
        window=window,
        noverlap=frame - hop,
        nfft=2 * frame,
        detrend=False,
        scaling="spectrum",
        mode="psd",
    )
    spacing = float(freqs[1])
    first, last = 100, 1000  # rows exactly one bin wide and centred on the bin
    request = PictureRequest(
        float(times[0]) - 0.5 * hop / RATE,
        float(times[-1]) + 0.5 * hop / RATE,
        (first - 0.5) * spacing,
        (last + 0.5) * spacing,
        times.size,
        last - first + 1,
        frame / RATE,
    )
    ours = FLOOR_DB + STEP_DB * draw(recording, request).levels.astype(float)
    # scipy's one-sided "spectrum" scaling gives a sine amplitude^2/2; full scale here is 0 dB
    theirs = 10 * np.log10(2.0 * power[first : last + 1, :])
    loud = theirs > -80
    assert loud.mean() > 0.9
    assert np.max(np.abs(ours - theirs)[loud]) < STEP_DB


def test_levels_are_ready_for_the_screen() -> None:
    picture = draw(_sine(300.0, 0.5, 1.0), PictureRequest(0, 1, 0, 1000, 100, 64, 0.05))
    assert picture.levels.dtype == np.uint8
    assert picture.levels.shape == (64, 100)
    assert picture.levels.flags["C_CONTIGUOUS"]


def test_a_click_stands_in_its_own_column() -> None:
    samples = np.zeros(48000, dtype=np.float32)
    samples[30000] = 1.0
    request = PictureRequest(0.0, 1.0, 0.0, 20000.0, 200, 64, 0.01)
    picture = draw(Recording.from_array(samples, RATE), request)
    energy = picture.levels.astype(float).sum(axis=0)
    assert abs(float((np.argmax(energy) + 0.5) / 200) - 30000 / RATE) <= 0.005


def test_outside_the_recording_is_silence() -> None:
    picture = draw(_sine(300.0, 1.0, 1.0), PictureRequest(-1.0, 2.0, 0, 1000, 300, 64, 0.05))
    assert picture.levels[:, :90].max() == 0
    assert picture.levels[:, 210:].max() == 0
    assert picture.levels[:, 150].max() > 250


def test_start_on_the_films_clock_moves_the_picture() -> None:
    late = Recording.from_array(_sine(300.0, 1.0, 1.0).mono(), RATE, start_s=5.0)
    picture = draw(late, PictureRequest(5.2, 5.8, 0, 1000, 30, 64, 0.05))
    assert picture.levels[:, 15].max() > 250


def test_whole_hour_at_once_stays_small_and_can_be_stopped() -> None:
    class Hour:
        reads = 0

        def read(self, start: int, stop: int) -> np.ndarray:
            Hour.reads = max(Hour.reads, stop - start)
            return np.zeros((stop - start, 1), dtype=np.float32)

    hour = Recording("hour", RATE, 3600 * 48000, 1, Hour())
    request = PictureRequest(0.0, 3600.0, 0.0, 4000.0, 400, 128, 0.085)
    draw(hour, request)
    assert Hour.reads < 6 * RATE
    asked: list[float] = []
    job = Job(report=lambda f, m: asked.append(f), cancelled=lambda: len(asked) > 3)
    with pytest.raises(Cancelled):
        draw(hour, request, job)
    assert len(asked) <= 4


@pytest.mark.parametrize(
    "request_",
    [
        PictureRequest(1.0, 1.0, 0, 1000, 10, 10, 0.05),
        PictureRequest(0.0, 1.0, 1000, 1000, 10, 10, 0.05),
        PictureRequest(0.0, 1.0, 0, 1000, 10, 10, 0.05, log_pitch=True),
        PictureRequest(0.0, float("nan"), 0, 1000, 10, 10, 0.05),
        PictureRequest(0.0, 1.0, 30000, 40000, 10, 10, 0.05),
        PictureRequest(0.0, 1.0, 0, 1000, 10**6, 10, 0.05),
        PictureRequest(0.0, 1.0, 0, 1000, 10, 10, 0.0),
    ],
)
def test_impossible_pictures_are_refused_in_words(request_: PictureRequest) -> None:
    with pytest.raises(InputError):
        draw(_sine(300.0, 1.0, 1.0), request_)


def test_the_sharpest_window_is_where_both_blurs_meet() -> None:
    rate = 40.0
    windows = np.linspace(0.02, 0.5, 4801)
    blur = 1 / windows + rate * windows
    assert sharpest_window_s(rate) == pytest.approx(windows[np.argmin(blur)], abs=1e-3)
    assert sharpest_window_s(0.0) == pytest.approx(0.25)
