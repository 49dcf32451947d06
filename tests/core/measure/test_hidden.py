"""Glides that no single line shows, and gusts that are none.

The sound is the project's own rendering (self-consistency).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options

from wayside.jobs import QUIET
from wayside.measure.gusts import gustiness, heard_alone
from wayside.measure.hidden import PLAIN, comb_plane, hidden
from wayside.measure.hunt import hunt
from wayside.measure.pipeline import SIGHTING, measure
from wayside.measure.planes import Plane, decimated, make_planes
from wayside.measure.refine import Refined, Sound
from wayside.measure.search import search
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene
from wayside.sound.recording import Recording

C = SOUND_SPEED.value
SLOW = PassBy(80.0, 2.0, 1.5, 3.0, C)
BRIEF = PassBy(250.0, 45.0, 1.5, 1.5, C)
SIX = tuple(1.0 / np.sqrt(k) for k in range(1, 7))


def test_a_comb_adds_up_the_harmonics_of_a_pitch() -> None:
    power = np.ones((4, 101), dtype=np.float32)
    power[:, [20, 40, 60]] = 5.0
    comb = comb_plane(Plane(power, 0.0, 0.1, 10.0, 0.1), 3)
    assert comb.lines == 3
    assert comb.bin_hz == pytest.approx(10.0 / 3.0)
    # the lowest pitch whose three lines are all there is 200 Hz, cell 60 of the finer ones
    assert int(np.argmax(comb.power[0])) == 60
    assert comb.power[0, 60] == pytest.approx(15.0)
    assert comb.power[0, 90] == pytest.approx(7.0)
    assert np.all(comb.power[:, :7] == 3.0)


def test_many_faint_lines_are_seen_together() -> None:
    seen = 0
    for seed in range(4):
        sound = render(simple_scene(BRIEF, 3.0, 44100.0, SIX, -13.0), seed)[:, 0]
        x, rate = decimated(sound, 44100.0)
        planes = make_planes(x, rate, 0.0)
        alone = search(planes, QUIET)
        assert max(one.evidence for one in alone) < PLAIN
        found = hidden(Sound(sound, 44100.0, 0.0), planes, C, None, QUIET)
        seen += any(
            abs(one.tc - BRIEF.passing_time_s) < 0.05 and abs(one.alpha_hz / 254.4 - 1.0) < 0.05
            for one, comb in found
            if len(comb.harmonics) > 1
        )
    assert seen >= 3


def test_a_fall_of_half_a_hertz_is_seen_in_the_phase() -> None:
    sound = render(simple_scene(SLOW, 6.2, 44100.0, (1.0,), 0.0), 1)[:, 0]
    found = measure(Recording.from_array(sound, 44100.0), options())
    assert found.fit is not None
    assert abs(found.fit.speed_mps.value - SLOW.speed_mps) < 3.0 * found.fit.speed_mps.u
    assert found.fit.speed_mps.u < 0.02 * SLOW.speed_mps


@pytest.mark.parametrize("pitch", [50.0, 100.0, 147.3])
def test_a_steady_low_hum_is_no_slow_pass(pitch: float) -> None:
    rng = np.random.default_rng(4)
    t = np.arange(6 * 22050) / 22050.0
    swell = 1.0 / np.sqrt(1.0 + (t - 3.0) ** 2)
    sound = 0.1 * swell * np.sin(2.0 * np.pi * pitch * t) + 0.01 * rng.standard_normal(t.size)
    recording = Recording.from_array(sound.astype(np.float32), 22050.0)
    assert not measure(recording, options()).found
    seen = hunt(recording, 0.0, recording.duration_s, None, C, QUIET)
    assert not [one for one in seen if one.candidate.alpha_hz < 300.0 and one.evidence > SIGHTING]


def test_a_band_without_low_pitches_has_no_low_lines() -> None:
    sound = render(simple_scene(SLOW, 6.2, 16000.0, (1.0,), 0.0), 1)[:, 0]
    band = (1000.0, 4000.0)
    planes = make_planes(*decimated(sound, 16000.0), 0.0, band)
    found = hidden(Sound(sound, 16000.0, 0.0), planes, C, band, QUIET)
    assert all(one.alpha_hz > 900.0 for one, _ in found)


def test_a_gust_at_the_passing_shows_beside_the_lines() -> None:
    p = PassBy(900.0, 8.0, 2.0, 2.0, C)
    rng = np.random.default_rng(5)
    t = np.arange(4 * 16000) / 16000.0
    noise = rng.standard_normal(t.size)
    gust = 1.0 + 2.0 * np.exp(-0.5 * ((t - 2.0) / 0.3) ** 2)
    even = [
        gustiness(Sound(rng.standard_normal(t.size).astype(np.float32), 16000.0, 0.0), p, (1, 2))
        for _ in range(6)
    ]
    loud = gustiness(Sound((noise * gust).astype(np.float32), 16000.0, 0.0), p, (1, 2))
    assert max(even) < 1.3
    # the noise's power rises ninefold at the peak, about fivefold under the weight 1/r^2
    assert 3.0 < loud < 9.0


def test_a_line_that_is_broad_is_not_listened_to_beside() -> None:
    def claimed(window_s: float, coherent: bool) -> Refined:
        return Refined(PassBy(300.0, 6.0, 2.0, 2.0), (1,), 100.0, 50.0, coherent, window_s)

    # 114 Hz beside the line: 3 widths of one seen 30 ms at a time, 23 of one seen 200 ms
    assert not heard_alone(claimed(0.03, False))
    assert heard_alone(claimed(0.2, False))
    assert heard_alone(claimed(0.03, True))
