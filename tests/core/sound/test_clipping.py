"""The clipped share, against the share put in: P(|sin| > 1/g) = 1 - (2/pi) asin(1/g)."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.sound.clipping import ClipCounter
from wayside.sound.media import load_recording

RATE = 48_000


def _sine(hz: float, seconds: float = 3.0) -> np.ndarray:
    return np.sin(2 * np.pi * hz * np.arange(int(seconds * RATE)) / RATE)


@pytest.mark.parametrize("scale", [1.0, 0.4])
@pytest.mark.parametrize("gain", [1.2, 2.0, 5.0])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "FLOAT"])
def test_share_of_a_clipped_sine(tmp_path: Path, subtype: str, gain: float, scale: float) -> None:
    samples = scale * np.clip(gain * _sine(441.3), -1, 1)
    soundfile.write(tmp_path / "a.wav", samples, RATE, subtype=subtype)
    recording = load_recording(tmp_path / "a.wav")
    share = 1 - 2 / math.pi * math.asin(1 / gain)
    assert recording.clipped_fraction == pytest.approx(share, abs=0.01)
    assert any("clipped" in note for note in recording.notes)


@pytest.mark.parametrize("level", [1 - 2**-15, 0.3, 0.01])
@pytest.mark.parametrize("hz", [60.0, 441.3, 3_000.0])
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24", "FLOAT"])
def test_a_whole_sine_is_not_clipped(tmp_path: Path, subtype: str, hz: float, level: float) -> None:
    soundfile.write(tmp_path / "a.wav", level * _sine(hz), RATE, subtype=subtype)
    recording = load_recording(tmp_path / "a.wav")
    assert recording.clipped_fraction < 0.001
    assert recording.notes == ()


def test_a_clipped_sine_through_a_lossy_codec(tmp_path: Path) -> None:
    samples = np.clip(3 * _sine(441.3), -1, 1)
    soundfile.write(tmp_path / "a.mp3", samples, RATE)
    assert load_recording(tmp_path / "a.mp3").clipped_fraction > 0.2


def test_only_the_loudest_level_counts_whatever_the_order() -> None:
    quiet, loud = 0.5 * np.clip(2 * _sine(441.3), -1, 1), np.clip(2 * _sine(441.3), -1, 1)
    shares = []
    for first, second in ((quiet, loud), (loud, quiet)):
        counter = ClipCounter(1, 2.0**-15, lossy=False)
        for part in (first, second):
            counter.add(part.astype(np.float32)[:, None])
        shares.append(counter.fraction)
    assert shares[0] == pytest.approx(shares[1])
    assert shares[0] == pytest.approx((1 - 2 / math.pi * math.asin(0.5)) / 2, abs=0.01)
