"""Recordings as they come: holes, offsets, clipping, silence around, cut ends, mains hum."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import (
    LENGTH_S,
    RATE,
    TONE,
    options,
    recorded,
    scene_of,
    sound_of,
)

from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Recorder
from wayside.sound.recording import Gap, Recording

# what the speed of sound leaves uncertain of the speed is shared by truth and measurement here
NAMES = ("speed_mps", "source_hz", "closest_m", "passing_time_s")


def _assert_near(m: Measurement, p: PassBy = TONE, speed: float = 0.01) -> None:
    assert m.found, m.detection.reason
    assert m.fit is not None
    assert m.fit.speed_mps.value == pytest.approx(p.speed_mps, rel=speed)
    assert m.fit.source_hz.value == pytest.approx(p.source_hz, rel=1e-3)
    for name in NAMES:
        q = getattr(m.fit, name)
        assert abs(q.value - getattr(p, name)) < 4 * q.u, name


def test_an_offset_does_not_matter() -> None:
    _assert_near(measure(Recording.from_array(sound_of() + 0.4, RATE), options()))


def test_a_low_rumble_does_not_matter() -> None:
    t = np.arange(int(LENGTH_S * RATE)) / RATE
    rumble = 0.8 * np.sin(2 * np.pi * 12.0 * t)
    _assert_near(measure(Recording.from_array(sound_of() + rumble, RATE), options()))


@pytest.mark.parametrize("share", [0.2, 0.5])
def test_clipped_peaks(share: float) -> None:
    scene = scene_of().with_(recorder=Recorder(clip_at=share))
    m = measure(Recording.from_array(render(scene, 1), RATE), options())
    _assert_near(m)


def test_clipping_is_told() -> None:
    clipped = replace(recorded(), clipped_fraction=0.08)
    m = measure(clipped, options())
    assert any("clipped" in w for w in m.warnings)


def test_automatic_gain() -> None:
    scene = scene_of().with_(recorder=Recorder(automatic_gain=True))
    _assert_near(measure(Recording.from_array(render(scene, 1), RATE), options()))


@pytest.mark.parametrize("at", [0.5, 1.5])
def test_a_hole_in_the_recording(at: float) -> None:
    x = sound_of()
    x[int(at * RATE) : int((at + 0.25) * RATE)] = 0.0
    holed = replace(
        Recording.from_array(x, RATE),
        gaps=(Gap(at, 0.25),),
        notes=("A stretch of 0.25 s is missing.",),
    )
    m = measure(holed, options())
    _assert_near(m)
    assert holed.notes[0] in m.warnings


@pytest.mark.parametrize(("before", "after"), [(5.0, 0.0), (0.0, 5.0), (3.0, 4.0)])
def test_silence_around(before: float, after: float) -> None:
    x = np.concatenate(
        [np.zeros(int(before * RATE)), sound_of(), np.zeros(int(after * RATE))]
    ).astype(np.float32)
    later = TONE.with_(passing_time_s=TONE.passing_time_s + before)
    _assert_near(measure(Recording.from_array(x, RATE), options()), later)


def test_out_and_back() -> None:
    """Two passes of one buzzer: one of them is measured, and it is a true one."""
    there, back = sound_of(seed=1), sound_of(TONE.with_(speed_mps=6.0), seed=2)
    m = measure(Recording.from_array(np.concatenate([there, back]), RATE), options())
    assert m.fit is not None
    first = m.fit.passing_time_s.value < LENGTH_S
    later = TONE.with_(speed_mps=6.0, passing_time_s=TONE.passing_time_s + LENGTH_S)
    _assert_near(m, TONE if first else later)


@pytest.mark.parametrize(("start", "stop"), [(0.0, 1.75), (1.45, 3.2)], ids=["approach", "recede"])
def test_one_side_only(start: float, stop: float) -> None:
    x = sound_of()[int(start * RATE) : int(stop * RATE)]
    m = measure(Recording.from_array(x, RATE, start_s=start), options())
    _assert_near(m, speed=0.05)
    assert any("side" in w for w in m.warnings)


@pytest.mark.parametrize(("cut", "says"), [("stop_s", "ends"), ("start_s", "sets in")])
def test_a_passing_outside_what_is_heard_is_told(cut: str, says: str) -> None:
    beyond = -0.12 if cut == "stop_s" else 0.12
    m = measure(recorded(), options(**{cut: TONE.heard_passing_s + beyond}))
    assert m.fit is not None, m.detection.reason
    for name in NAMES:
        q = getattr(m.fit, name)
        assert abs(q.value - getattr(TONE, name)) < 3 * q.u, name
    told = [w for w in m.warnings if "passing itself is not heard" in w]
    assert len(told) == 1
    assert says in told[0]


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_strong_mains_hum(mains: float) -> None:
    hum = Background(white_tnr_db=20.0, hum_tnr_db=-10.0, hum_hz=mains, hum_harmonics=10)
    scene = scene_of().with_(background=hum)
    _assert_near(measure(Recording.from_array(render(scene, 1), RATE), options()))


def test_a_missing_fundamental() -> None:
    scene = scene_of()
    source = replace(scene.sources[0], harmonics=(0.0, 1.0, 0.8, 0.6))
    scene = scene.with_(sources=(source,))
    _assert_near(measure(Recording.from_array(render(scene, 1), RATE), options()))


@pytest.mark.parametrize("seed", [2, 3])
def test_a_tone_that_switches_on_mid_pass(seed: int) -> None:
    scene = scene_of()
    source = replace(scene.sources[0], on_s=1.0)
    scene = scene.with_(sources=(source,))
    _assert_near(measure(Recording.from_array(render(scene, seed), RATE), options()), speed=0.03)


def test_the_shortest_stretch_is_refused_and_a_short_one_survives() -> None:
    x = sound_of()
    m = measure(Recording.from_array(x[: int(0.35 * RATE)], RATE), options())
    assert not m.found


def test_silence_and_constant_sound_are_no_pass_by() -> None:
    for value in (0.0, 0.7):
        m = measure(Recording.from_array(np.full(3 * RATE, value), RATE), options())
        assert not m.found
