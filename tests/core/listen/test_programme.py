"""What is made ready to play: pitch, loudness, soft ends and a safe peak."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal
from tests.invented import TRUTH, measurement_of, sound_of

from wayside.errors import InputError
from wayside.hand.entry import Entry
from wayside.hand.predict import Prediction, predict
from wayside.hand.setup import Setup
from wayside.listen.programme import (
    BOTH,
    HIGHEST_RATE_HZ,
    KINDS,
    LONGEST_S,
    PASS,
    RECORDING,
    RIDER,
    TONE,
    TURNS,
    Wish,
    predicted_pitch,
    prepare,
)
from wayside.listen.tones import PEAK_DBFS, rms
from wayside.measure.options import MeasureOptions
from wayside.sound.recording import Recording


@pytest.fixture(scope="module")
def prediction() -> Prediction:
    entries = {
        "motion.speed": Entry(9.2, "m/s", 0.1),
        "source.pitch": Entry(412.0, "Hz", 0.5),
        "air.temperature": Entry(20.0, "°C", 0.5),
    }
    return predict(Setup("tone", "rule-of-thumb", entries))


MEASURED = measurement_of(TRUTH, MeasureOptions())


def _peak_hz(samples: np.ndarray, rate: float) -> float:
    window = signal.windows.hann(samples.size)
    power = np.abs(np.fft.rfft(samples * window, 8 * samples.size))
    return float(np.argmax(power) * rate / (8 * samples.size))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_safe_to_play(kind: str, prediction: Prediction) -> None:
    loud = replace(sound_of(), store=_Loud())
    programme = prepare(Wish(kind, 0.5, 2.5, "approach"), loud, MEASURED, prediction)
    assert programme.samples.dtype == np.float32
    peak = float(np.max(np.abs(programme.samples)))
    assert 0 < peak <= 10 ** (PEAK_DBFS / 20)
    # nothing starts or ends with a step
    assert abs(float(programme.samples[0])) < 0.01 * peak
    assert abs(float(programme.samples[-1])) < 0.01 * peak


class _Loud:
    """A recording driven to full scale."""

    def read(self, start: int, stop: int) -> np.ndarray:
        samples = 50.0 * sound_of().read(start, stop)
        return np.clip(samples, -1, 1).astype(np.float32)


def test_the_tone_has_the_pitch_predicted_there_and_the_loudness_of_the_recording(
    prediction: Prediction,
) -> None:
    wish = Wish(TONE, 0.5, 2.5, "approach")
    programme = prepare(wish, sound_of(), MEASURED, prediction)
    # far off, the predicted curve is within a fraction of a hertz of its limit f0 c/(c - v)
    assert _peak_hz(programme.samples, programme.rate_hz) == pytest.approx(
        412 * 343 / (343 - 9.2), abs=0.6
    )
    recorded = prepare(replace(wish, kind=RECORDING), sound_of(), MEASURED, prediction)
    assert rms(programme.samples) == pytest.approx(rms(recorded.samples), rel=0.1)
    assert programme.start_s == pytest.approx(0.5)


def test_without_a_fit_the_far_pitch_of_the_side_is_heard(prediction: Prediction) -> None:
    for side, pitch in (("approach", prediction.approach_hz), ("recede", prediction.recede_hz)):
        assert predicted_pitch(Wish(TONE, 0, 1, side), None, prediction) == pitch.value


def test_turns_alternate_and_both_beat(prediction: Prediction) -> None:
    t = np.arange(32000) / 16000.0
    steady = Recording.from_array(0.05 * np.sin(2 * np.pi * 427.3 * t), 16000.0)
    tone = prepare(Wish(TONE, 0.0, 2.0, "approach"), steady, None, prediction)
    assert tone.pitch_hz is not None
    turns = prepare(Wish(TURNS, 0.0, 2.0, "approach"), steady, None, prediction)
    first, second = turns.samples[2000:12000], turns.samples[2000 + 14080 : 12000 + 14080]
    assert _peak_hz(first, 16000) == pytest.approx(427.3, abs=0.5)
    assert _peak_hz(second, 16000) == pytest.approx(tone.pitch_hz, abs=0.5)
    both = prepare(Wish(BOTH, 0.0, 2.0, "approach"), steady, None, prediction)
    loudness = np.abs(signal.hilbert(both.samples[800:-800]))
    beat = abs(427.3 - tone.pitch_hz)
    spectrum = np.abs(np.fft.rfft(loudness - loudness.mean(), 16 * loudness.size))
    assert np.argmax(spectrum) / (16 * loudness.size) * 16000 == pytest.approx(beat, abs=0.4)


def test_the_rider_hears_one_pitch_and_the_predicted_pass_glides(prediction: Prediction) -> None:
    rider = prepare(Wish(RIDER, 0, 8), sound_of(), MEASURED, prediction)
    n = rider.samples.size
    for part in (rider.samples[n // 8 : n // 3], rider.samples[2 * n // 3 : 7 * n // 8]):
        assert _peak_hz(part, rider.rate_hz) == pytest.approx(TRUTH.source_hz, abs=1.0)
    passing = prepare(Wish(PASS, 0.2, 7.8), sound_of(), MEASURED, prediction)
    n = passing.samples.size
    high = _peak_hz(passing.samples[: n // 4], passing.rate_hz)
    low = _peak_hz(passing.samples[-n // 4 :], passing.rate_hz)
    assert high - low == pytest.approx(2 * 412 * 9.2 / 343, rel=0.05)


def test_what_is_missing_is_said(prediction: Prediction) -> None:
    recording = sound_of()
    for wish, r, m, p, word in (
        (Wish(RECORDING, 0, 1), None, None, None, "no recording"),
        (Wish(TONE, 0, 1), recording, None, None, "no prediction"),
        (Wish(RIDER, 0, 1), recording, None, prediction, "pass-by was found"),
        (Wish(PASS, 0, 1), recording, None, prediction, "pass-by was found"),
        (Wish(PASS, 0, 1), recording, MEASURED, None, "no prediction"),
        (Wish(RECORDING, 100, 101), recording, None, None, "no sound at that place"),
        (Wish(RECORDING, 2, 1), recording, None, None, "no sound at that place"),
        (Wish("noise", 0, 1), recording, None, None, "not clear"),
        (Wish(RECORDING, 0, float("nan")), recording, None, None, "not clear"),
    ):
        with pytest.raises(InputError, match=word):
            prepare(wish, r, m, p)


def test_long_and_fast_recordings_are_brought_within_bounds() -> None:
    fast = Recording.from_array(np.full(192_000, 0.1, dtype=np.float32), 192_000.0)
    programme = prepare(Wish(RECORDING, 0, 1), fast, None, None)
    assert programme.rate_hz <= HIGHEST_RATE_HZ
    assert programme.samples.size / programme.rate_hz == pytest.approx(1.0, abs=0.01)

    class Hours:
        def read(self, start: int, stop: int) -> np.ndarray:
            return np.zeros((stop - start, 1), dtype=np.float32)

    hours = Recording("hours", 8000.0, 8000 * 7200, 1, Hours())
    programme = prepare(Wish(RECORDING, 0, 7200), hours, None, None)
    assert programme.samples.size / programme.rate_hz == pytest.approx(LONGEST_S)
