"""A clean recording is measured to 0.1 % whatever its rate, format or channels."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from tests.core.measure.recordings import LENGTH_S, RATE, TONE, options, recorded, sound_of

from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.sound.media import load_recording
from wayside.sound.recording import Recording


def _assert_close(m: Measurement, p: PassBy = TONE, share: float = 1e-3) -> None:
    assert m.found, m.detection.reason
    assert m.fit is not None
    assert m.fit.speed_mps.value == pytest.approx(p.speed_mps, rel=share)
    assert m.fit.source_hz.value == pytest.approx(p.source_hz, rel=share)
    assert m.fit.approach_hz.value == pytest.approx(p.approach_hz, rel=share)
    assert m.fit.recede_hz.value == pytest.approx(p.recede_hz, rel=share)


@pytest.mark.parametrize(
    "p",
    [
        TONE,
        TONE.with_(source_hz=1900.0, speed_mps=14.0, closest_m=3.0),
        TONE.with_(source_hz=220.0, speed_mps=5.0, closest_m=0.8),
    ],
    ids=["buzzer", "whistle", "low"],
)
def test_speed_and_pitch_to_a_thousandth(p: PassBy) -> None:
    m = measure(recorded(p), options())
    _assert_close(m, p)
    assert m.fit is not None
    assert m.fit.closest_m.value == pytest.approx(p.closest_m, rel=0.01)
    assert m.fit.passing_time_s.value == pytest.approx(p.passing_time_s, abs=0.005)


@pytest.mark.parametrize("rate", [8000, 11_025, 44_100, 96_000, 192_000])
def test_any_sample_rate(rate: int) -> None:
    _assert_close(measure(recorded(rate_hz=rate), options()))


def test_a_rate_that_is_no_whole_number() -> None:
    _assert_close(measure(recorded(rate_hz=15_999.37), options()))


@pytest.mark.parametrize(
    ("suffix", "subtype"),
    [
        ("wav", "PCM_16"),
        ("wav", "PCM_24"),
        ("wav", "PCM_32"),
        ("wav", "FLOAT"),
        ("flac", "PCM_16"),
    ],
)
def test_any_sample_format(tmp_path: Path, suffix: str, subtype: str) -> None:
    path = tmp_path / f"pass.{suffix}"
    soundfile.write(str(path), sound_of(), RATE, subtype=subtype)
    _assert_close(measure(load_recording(path), options()))


@pytest.mark.parametrize(
    "gains",
    [(1.0, 1.0), (1.0, -1.0), (0.0, 1.0), (-1.0, 0.9), (1.0, 0.3, -0.2)],
    ids=["equal", "opposed", "one silent", "nearly opposed", "three"],
)
def test_any_channels(gains: tuple[float, ...]) -> None:
    noise = 1e-4 * np.random.default_rng(3).standard_normal((int(LENGTH_S * RATE), len(gains)))
    both = sound_of()[:, None] * np.array(gains) + noise
    _assert_close(measure(Recording.from_array(both, RATE), options()))


def test_loudness_does_not_matter() -> None:
    quiet = measure(Recording.from_array(sound_of() * 1e-3, RATE), options())
    _assert_close(quiet)


def test_the_clock_of_the_film_is_kept() -> None:
    there = measure(Recording.from_array(sound_of(), RATE, start_s=12.5), options())
    here = measure(recorded(), options())
    _assert_close(there)
    assert there.fit is not None
    assert here.fit is not None
    later = there.fit.passing_time_s.value - here.fit.passing_time_s.value
    assert later == pytest.approx(12.5, abs=1e-4)
    assert there.start_s >= 12.5
    assert there.track is not None
    assert np.all(there.track.times_s > 12.5)


def test_the_far_pitches_are_not_symmetric_about_the_source() -> None:
    m = measure(recorded(), options())
    assert m.fit is not None
    f = m.fit
    up, down = f.approach_hz.value - f.source_hz.value, f.source_hz.value - f.recede_hz.value
    assert up > down
    # harmonic mean (elementary, from the two limits)
    mean = 2 / (1 / f.approach_hz.value + 1 / f.recede_hz.value)
    assert f.source_hz.value == pytest.approx(mean, rel=1e-9)
