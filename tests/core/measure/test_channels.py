"""Two channels: the time between them against geometry, and what is said about it.

The time between two microphones is their distance over the speed of sound times the sine of the
direction (elementary); the rendering is the project's own.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options

from wayside.measure.pipeline import measure
from wayside.measure.refine import Sound, blocks_of
from wayside.measure.result import Measurement
from wayside.measure.stereo import differ
from wayside.measure.swing import swing_of
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Microphone, Scene, Source
from wayside.sound.recording import Recording

RATE = 16_000.0
P = PassBy(700.0, 8.0, 1.5, 1.9, SOUND_SPEED.value)
SPACING_M = 0.12


def _samples(
    microphone: Microphone, direction: int = 1, tnr_db: float = 15.0, seed: int = 1
) -> np.ndarray:
    source = Source(P, (1.0, 0.5), direction=direction)
    scene = Scene((source,), 3.8, RATE, microphone=microphone, background=Background(tnr_db))
    return render(scene, seed)


def _measured(samples: np.ndarray) -> Measurement:
    m = measure(Recording.from_array(samples, RATE), options())
    assert m.found, m.detection.reason
    return m


@pytest.mark.parametrize("direction", [1, -1])
def test_lead_is_the_spacing_over_the_speed_of_sound(direction: int) -> None:
    x = _samples(Microphone(2, SPACING_M), direction)
    blocks = [
        blocks_of(Sound(np.ascontiguousarray(x[:, i]), RATE, 0.0), P, (1, 2), 0.02) for i in (0, 1)
    ]
    swing = swing_of(blocks[0], blocks[1], P)
    expected = direction * SPACING_M / SOUND_SPEED.value
    assert swing.seen
    assert swing.turned_rad == 0.0
    assert abs(swing.lead_s - expected) < 4.0 * swing.u_lead_s + 1e-6
    assert swing.u_lead_s < 0.02 * abs(expected)
    assert abs(swing.aim_rad) < 4.0 * swing.u_aim_rad + 0.01


def test_aim_shows_a_pair_that_faces_ahead() -> None:
    # a pair that faces 20 degrees ahead hears as one whose passing is d tan(20°)/v later
    x = _samples(Microphone(2, SPACING_M))
    aim = math.radians(20.0)
    late = P.with_(passing_time_s=P.passing_time_s - P.closest_m / P.speed_mps * math.tan(aim))
    blocks = [
        blocks_of(Sound(np.ascontiguousarray(x[:, i]), RATE, 0.0), late, (1, 2), 0.02)
        for i in (0, 1)
    ]
    swing = swing_of(blocks[0], blocks[1], late)
    assert swing.aim_rad == pytest.approx(aim, abs=math.radians(6.0))


def test_uncertainty_of_the_lead_is_true() -> None:
    scores = []
    for seed in range(24):
        x = _samples(Microphone(2, SPACING_M), tnr_db=0.0, seed=seed)
        blocks = [
            blocks_of(Sound(np.ascontiguousarray(x[:, i]), RATE, 0.0), P, (1, 2), 0.02)
            for i in (0, 1)
        ]
        swing = swing_of(blocks[0], blocks[1], P)
        scores.append((swing.lead_s - SPACING_M / SOUND_SPEED.value) / swing.u_lead_s)
    within = sum(abs(z) < 1 for z in scores)
    # 3 to 4 standard deviations of a binomial law of 24 tries at 68 %
    assert within >= 9
    assert max(abs(z) for z in scores) < 4.0


def test_both_channels_and_the_side_are_told() -> None:
    there = " ".join(_measured(_samples(Microphone(2, SPACING_M))).warnings)
    assert "Each channel alone gives the same speed" in there
    assert "from the side of channel 1 (left) and goes to that of channel 2 (right)" in there
    assert "fits the passing time by pitch" in there
    back = " ".join(_measured(_samples(Microphone(2, SPACING_M), -1)).warnings)
    assert "from the side of channel 2 (right)" in back


def test_a_camera_that_turns_is_told_and_leaves_the_speed_alone() -> None:
    turning = Microphone(2, SPACING_M, directivity=0.5, pan="follow", arm_m=0.1)
    m = _measured(_samples(turning))
    assert any("the camera was turned after it" in w for w in m.warnings)
    assert m.fit is not None
    assert abs(m.fit.speed_mps.value - P.speed_mps) < 3.0 * m.fit.speed_mps.u
    alone = _measured(_samples(replace(turning, channels=1)))
    assert alone.fit is not None
    assert abs(alone.fit.speed_mps.value - P.speed_mps) < 3.0 * alone.fit.speed_mps.u


def test_a_still_camera_with_an_eye_to_the_front_is_not_taken_for_a_turning_one() -> None:
    m = _measured(_samples(Microphone(2, SPACING_M, directivity=0.5)))
    assert not any("turned after it" in w for w in m.warnings)


def test_channels_too_close_together_say_that_they_check_nothing() -> None:
    m = _measured(_samples(Microphone(2, 0.002)))
    assert any("cannot tell its side" in w for w in m.warnings)


def test_one_sound_in_both_channels_is_not_compared() -> None:
    x = _samples(Microphone(1))
    m = _measured(np.repeat(x, 2, axis=1))
    assert not any("channel" in w for w in m.warnings)
    assert not differ(x[:, 0], x[:, 0])
    assert not differ(x[:, 0], 1e-3 * x[:, 0])


def test_a_second_sound_on_one_side_is_told() -> None:
    x = _samples(Microphone(2, SPACING_M), tnr_db=30.0)
    source = Source(P.with_(source_hz=703.0, speed_mps=9.0), (1.0, 0.5))
    other = render(Scene((source,), 3.8, RATE, background=Background(30.0)), 5)
    mixed = np.column_stack([x[:, 0], 0.3 * x[:, 1] + other[:, 0]])
    said = " ".join(_measured(mixed).warnings)
    assert "different speeds" in said or "Only one of the two channels" in said
