"""The rider's frame, against the closed form of the sound that goes in."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wayside.errors import Cancelled, InputError
from wayside.jobs import Job
from wayside.listen.rider import PEAK_DBFS, limited, rider_sound, straightened
from wayside.physics.passby import PassBy
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import PictureRequest, draw

RATE = 48_000.0


def _recorded(
    p: PassBy, stop_s: float = 4.0, start_s: float = 0.0, level: float = 0.1
) -> Recording:
    """What a microphone hears of a pure tone: ``(d/r) sin(2 pi phi(tau(t)))``."""
    tau = p.emission_time(start_s + np.arange(int((stop_s - start_s) * RATE)) / RATE)
    sound = level * p.closest_m / p.distance(tau) * np.sin(2 * np.pi * p.source_phase(tau))
    return Recording.from_array(sound, RATE, start_s=start_s)


@settings(max_examples=25, deadline=None)
@given(
    pitch=st.floats(100, 15_000),
    v=st.floats(1, 40),
    d=st.floats(0.5, 10),
    a=st.floats(-0.2, 0.2),
    tied=st.booleans(),
    start=st.floats(-50, 50),
)
def test_the_tone_of_the_source_comes_back(
    pitch: float, v: float, d: float, a: float, tied: bool, start: float
) -> None:
    p = PassBy(pitch, v, d, start + 0.4, acceleration_mps2=a, speed_tied=tied)
    recording = _recorded(p, start + 0.8, start)
    rider = rider_sound(recording, p, start, start + 0.8, most_gain_db=60.0)
    heard = rider.sound.mono()[200:-200]
    tau = rider.sound.start_s + (200 + np.arange(heard.size)) / RATE
    own = 0.1 * np.sin(2 * np.pi * p.source_phase(tau))
    assert np.max(np.abs(heard - own)) < 1e-5


def test_the_clock_is_that_of_the_source() -> None:
    p = PassBy(900.0, 9.0, 3.0, 2.0)
    rider = rider_sound(_recorded(p), p, 0.5, 3.5)
    assert rider.sound.start_s == pytest.approx(float(p.emission_time(0.5)), abs=1e-12)
    last = rider.sound.start_s + rider.sound.duration_s
    assert last == pytest.approx(float(p.emission_time(3.5)), abs=1.1 / RATE)


def test_far_noise_is_raised_no_further_than_stated() -> None:
    noise = np.random.default_rng(5).standard_normal(int(6 * RATE)) * 0.01
    p = PassBy(900.0, 15.0, 1.0, 3.0)
    rider = rider_sound(Recording.from_array(noise, RATE), p, 0.0, 6.0, most_gain_db=12.0)
    x = rider.sound.mono()
    second = int(RATE)
    near = np.std(x[int((3.0 - rider.sound.start_s) * RATE) :][: second // 50])
    far = [np.std(x[:second]), np.std(x[-second:])]
    # 60 ms of noise has a relative scatter of 2 %
    assert np.array(far) / near == pytest.approx(10 ** (12 / 20), rel=0.12)
    assert rider.most_gain_m == pytest.approx(10 ** (12 / 20))


def test_reading_in_pieces_is_reading_at_once() -> None:
    p = PassBy(700.0, 8.0, 2.0, 1.0)
    rider = rider_sound(_recorded(p, 2.0), p, 0.0, 2.0)
    n = rider.sound.n_samples
    pieces = np.concatenate(
        [rider.sound.read(a, b) for a, b in [(0, 1), (1, 9000), (9000, 9001), (9001, n)]]
    )
    assert np.array_equal(pieces, rider.sound.read(0, n))


def test_the_peak_is_kept_below_full_scale_and_the_change_is_told() -> None:
    p = PassBy(700.0, 8.0, 2.0, 1.5)
    loud = limited(rider_sound(_recorded(p, 3.0, level=0.95), p, 0.0, 3.0))
    peak_db = 20 * np.log10(np.max(np.abs(loud.sound.mono())))
    assert peak_db == pytest.approx(PEAK_DBFS, abs=0.01)
    assert loud.turned_down_db == pytest.approx(20 * np.log10(0.95) - PEAK_DBFS, abs=0.05)
    quiet = limited(rider_sound(_recorded(p, 3.0, level=0.1), p, 0.0, 3.0))
    assert quiet.turned_down_db == 0.0
    assert np.max(np.abs(quiet.sound.mono())) == pytest.approx(0.1, rel=0.01)


def test_channels_that_cancel_each_other_stay_apart() -> None:
    p = PassBy(700.0, 8.0, 2.0, 1.0)
    one = _recorded(p, 2.0).mono()
    both = Recording.from_array(np.column_stack([one, -one]), RATE)
    x = rider_sound(both, p, 0.0, 2.0).sound
    block = x.read(0, x.n_samples)
    assert block.shape[1] == 2
    assert np.array_equal(block[:, 0], -block[:, 1])
    assert np.std(block[:, 0]) > 0.05


def _ridge(levels: npt.NDArray[np.uint8]) -> npt.NDArray[np.float64]:
    """The middle of the loudest rows of each column; 8 bits leave several equally loud."""
    loudest = levels == levels.max(axis=0)
    rows = np.arange(levels.shape[0])[:, None]
    return np.asarray((rows * loudest).sum(axis=0) / loudest.sum(axis=0))


def test_the_straightened_spectrogram_is_straight() -> None:
    p = PassBy(1000.0, 12.0, 3.0, 2.0)
    recording = _recorded(p)
    rider = rider_sound(recording, p, 0.0, 4.0)
    request = PictureRequest(0.2, 3.8, 900.0, 1100.0, 120, 200, 0.1)
    straight = straightened(rider, request)
    assert straight.request == request
    assert np.max(np.abs(_ridge(straight.levels) - 99.5)) <= 0.5
    assert np.ptp(_ridge(draw(recording, request).levels)) > 50


class _Endless:
    """A store that remembers how much was asked for at once."""

    def __init__(self) -> None:
        self.largest = 0

    def read(self, start: int, stop: int) -> npt.NDArray[np.float32]:
        self.largest = max(self.largest, stop - start)
        return np.zeros((stop - start, 1), dtype=np.float32)


def test_an_hour_is_read_block_by_block_and_can_be_stopped() -> None:
    store = _Endless()
    hour = Recording("hour", RATE, int(3600 * RATE), 1, store)
    rider = rider_sound(hour, PassBy(700.0, 8.0, 2.0, 1800.0), 0.0, 3600.0)
    assert rider.sound.duration_s == pytest.approx(3600.0, rel=0.05)
    told: list[float] = []
    job = Job(report=lambda f, m: told.append(f), cancelled=lambda: len(told) >= 4)
    with pytest.raises(Cancelled):
        limited(rider, job)
    assert len(told) == 4
    assert told[-1] < 0.01
    assert store.largest < 20_000


@pytest.mark.parametrize(
    ("start", "stop", "gain", "word"),
    [
        (10.0, 12.0, 12.0, "holds no sound"),
        (2.0, 1.0, 12.0, "holds no sound"),
        (0.0, 2.0, -3.0, "gain"),
        (0.0, 2.0, float("nan"), "gain"),
    ],
)
def test_what_makes_no_sense_is_refused(start: float, stop: float, gain: float, word: str) -> None:
    p = PassBy(700.0, 8.0, 2.0, 1.0)
    with pytest.raises(InputError, match=word):
        rider_sound(_recorded(p, 2.0), p, start, stop, gain)


def test_a_motion_that_runs_away_is_refused() -> None:
    recording = Recording("long", RATE, int(4000 * RATE), 1, _Endless())
    with pytest.raises(InputError, match="speed of sound"):
        rider_sound(recording, PassBy(700.0, 8.0, 2.0, 1.0, acceleration_mps2=0.1), 0.0, 4000.0)
