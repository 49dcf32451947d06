"""What a caller may tell the measurement, and what makes no sense."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import (
    LENGTH_S,
    RATE,
    SOUND_SPEED,
    TONE,
    options,
    recorded,
    scene_of,
    sound_of,
)

from wayside.errors import InputError
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.sound.recording import Recording


def _two_passes() -> Recording:
    """A buzzer at 700 Hz passes at 1.6 s, another of 1100 Hz at 5 s."""
    other = TONE.with_(source_hz=1100.0, speed_mps=6.0, passing_time_s=1.8)
    both = np.concatenate([sound_of(seed=1), sound_of(other, seed=2)])
    return Recording.from_array(both, RATE)


def _pitch(m: Measurement) -> float:
    assert m.found, m.detection.reason
    assert m.fit is not None
    return m.fit.source_hz.value


def test_a_stretch_chooses_between_two_passes() -> None:
    first = measure(_two_passes(), options(stop_s=LENGTH_S))
    second = measure(_two_passes(), options(start_s=LENGTH_S))
    assert _pitch(first) == pytest.approx(700.0, rel=1e-3)
    assert _pitch(second) == pytest.approx(1100.0, rel=1e-3)
    assert first.stop_s <= LENGTH_S
    assert second.start_s >= LENGTH_S
    assert second.fit is not None
    assert second.fit.passing_time_s.value == pytest.approx(LENGTH_S + 1.8, abs=0.01)


def test_two_passes_at_once_do_not_spoil_each_other() -> None:
    m = measure(_two_passes(), options())
    assert min(abs(_pitch(m) / f - 1) for f in (700.0, 1100.0)) < 1e-3


def test_a_band_chooses_between_two_sources() -> None:
    other = replace(scene_of().sources[0], passby=TONE.with_(source_hz=1130.0), harmonics=(1.0,))
    first = replace(scene_of().sources[0], harmonics=(1.0,))
    both = Recording.from_array(render(scene_of().with_(sources=(first, other)), 1), RATE)
    low = measure(both, options(band_hz=(500.0, 900.0)))
    high = measure(both, options(band_hz=(1000.0, 1300.0)))
    assert _pitch(low) == pytest.approx(700.0, rel=1e-3)
    assert _pitch(high) == pytest.approx(1130.0, rel=1e-3)


def test_a_band_without_the_source_finds_nothing() -> None:
    m = measure(recorded(), options(band_hz=(2500.0, 4000.0)))
    assert not m.found


def test_a_stretch_without_the_passing_finds_nothing_or_says_one_sided() -> None:
    m = measure(recorded(), options(stop_s=0.5))
    assert not m.found or any("side" in w for w in m.warnings)


@pytest.mark.parametrize(
    "told",
    [
        {"start_s": 3.0, "stop_s": 2.0},
        {"start_s": 99.0},
        {"stop_s": -1.0},
        {"start_s": 1.0, "stop_s": 1.1},
        {"band_hz": (900.0, 500.0)},
        {"band_hz": (500.0, 500.0)},
        {"band_hz": (-5.0, 900.0)},
        {"band_hz": (7900.0, 9000.0)},
        {"source_kind": "bell"},
        {"sound_speed": Quantity(0.0, 1.0, "m/s")},
        {"sound_speed": Quantity(float("nan"), 1.0, "m/s")},
        {"sound_speed": Quantity(343.0, -1.0, "m/s")},
        {"sound_speed": Quantity(343.0, float("inf"), "m/s")},
        {"start_s": float("nan")},
        {"stop_s": float("nan")},
        {"band_hz": (float("nan"), 900.0)},
        {"band_hz": (500.0, float("nan"))},
        {"closest": Quantity(-1.0, 0.1, "m")},
        {"closest": Quantity(0.0, 0.1, "m")},
        {"closest": Quantity(2.0, float("nan"), "m")},
        {"cycles_per_metre": Quantity(-50.0, 1.0, "1/m"), "source_kind": "wheel"},
        {"approach_window_s": (0.9, 0.1)},
        {"approach_window_s": (-3.0, 0.4)},
        {"recede_window_s": (2.5, 99.0)},
        {"recede_window_s": (2.5, 2.501)},
    ],
    ids=str,
)
def test_what_makes_no_sense_gets_one_sentence(told: dict[str, object]) -> None:
    with pytest.raises(InputError) as caught:
        measure(recorded(), options(**told))
    message = str(caught.value)
    assert message.endswith(".")
    assert "\n" not in message
    assert len(message) > 30


def test_the_speed_of_sound_scales_speed_and_distance_alone() -> None:
    here = measure(recorded(), options()).fit
    there = measure(recorded(), options(sound_speed=Quantity(SOUND_SPEED.value * 1.02, 0.5, "m/s")))
    assert here is not None
    assert there.fit is not None
    assert there.fit.speed_mps.value == pytest.approx(1.02 * here.speed_mps.value, rel=1e-4)
    assert there.fit.closest_m.value == pytest.approx(1.02 * here.closest_m.value, rel=1e-3)
    assert there.fit.source_hz.value == pytest.approx(here.source_hz.value, rel=1e-7)


def test_an_uncertain_speed_of_sound_widens_the_speed_alone() -> None:
    sure = measure(recorded(), options(sound_speed=Quantity(343.2, 0.0, "m/s"))).fit
    unsure = measure(recorded(), options(sound_speed=Quantity(343.2, 3.432, "m/s"))).fit
    assert sure is not None
    assert unsure is not None
    assert unsure.speed_mps.u == pytest.approx(
        np.hypot(sure.speed_mps.u, 0.01 * unsure.speed_mps.value), rel=1e-3
    )
    assert unsure.approach_hz.u == pytest.approx(sure.approach_hz.u, rel=1e-6)
    assert unsure.source_hz.u == pytest.approx(sure.source_hz.u, rel=1e-6)


def test_reading_windows_set_by_hand_are_the_ones_read() -> None:
    windows = ((0.2, 0.6), (2.5, 3.0))
    told = options(approach_window_s=windows[0], recede_window_s=windows[1])
    reading = measure(recorded(), told).two_window
    assert reading is not None
    for part, (start, stop) in zip((reading.approach, reading.recede), windows, strict=True):
        assert (part.start_s, part.stop_s) == (start, stop)
        # a steady glide's spectral peak lies at the pitch near the middle of the window
        inside = TONE.pitch(np.linspace(start, stop, 50))
        assert inside.min() - 0.3 < part.pitch.value < inside.max() + 0.3
        limit = TONE.approach_hz if start < TONE.passing_time_s else TONE.recede_hz
        assert part.shortfall_hz == pytest.approx(float(np.mean(inside)) - limit, abs=0.05)
    assert reading.approach.shortfall_hz < 0 < reading.recede.shortfall_hz
    # read at a finite distance, both pitches fall short and so does the speed
    assert reading.speed_mps.value < TONE.speed_mps


def test_one_window_by_hand_leaves_the_other_to_the_program() -> None:
    reading = measure(recorded(), options(approach_window_s=(0.3, 0.7))).two_window
    assert reading is not None
    assert (reading.approach.start_s, reading.approach.stop_s) == (0.3, 0.7)
    assert reading.recede.start_s > TONE.passing_time_s
