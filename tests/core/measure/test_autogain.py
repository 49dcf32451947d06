"""Automatic gain seen in the background and taken off the level.

Held against the gain itself, had by passing the same rendering with and without it (the
project's own renderer: self-consistency).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import HUM, SOUND_SPEED, options

from wayside.measure.autogain import background_db, unlevelled
from wayside.measure.pipeline import measure
from wayside.measure.refine import Sound
from wayside.measure.result import Track
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Recorder, Scene, Source
from wayside.sound.recording import Recording

RATE = 16_000.0
PASSBY = HUM.with_(passing_time_s=2.6)


def _scene(hiss_tnr_db: float | None = None, coherence_s: float = 0.3) -> Scene:
    source = Source(PASSBY, (1.0, 0.5), coherence_s=coherence_s, hiss_tnr_db=hiss_tnr_db)
    return Scene((source,), 5.2, RATE, background=Background(12.0))


def _levelled(scene: Scene) -> Scene:
    return scene.with_(recorder=Recorder(automatic_gain=True))


def _sound(scene: Scene, seed: int = 4) -> Sound:
    return Sound(render(scene, seed)[:, 0], RATE, 0.0)


def test_background_shows_the_gain() -> None:
    plain, turned = _sound(_scene()), _sound(_levelled(_scene()))
    times, seen = background_db(turned)
    frame = round(0.04 * RATE)
    at = np.round(times * RATE).astype(int)
    inside = (at > frame) & (at < plain.samples.size - frame)
    true = []
    for i in at[inside]:
        part = slice(i - frame // 2, i + frame // 2)
        ratio = np.sum(turned.samples[part] ** 2) / np.sum(plain.samples[part] ** 2)
        true.append(10 * np.log10(ratio))
    gain = np.array(true) - np.median(true)
    got = seen[inside] - np.median(seen[inside])
    assert np.ptp(gain) > 6.0
    # frames of 40 ms blur an attack of 10 ms
    assert float(np.median(np.abs(got - gain))) < 0.5


def test_steady_and_hissing_sources_keep_their_level() -> None:
    times = np.linspace(0.5, 4.7, 40)
    track = Track(times, np.full(40, 300.0), np.ones(40), np.linspace(-50, -20, 40))
    for scene in (_scene(), _scene(hiss_tnr_db=-6.0)):
        assert unlevelled(track, _sound(scene), PASSBY) is track


def test_level_under_gain_rises_as_without() -> None:
    times = np.array([0.3, 2.6, 4.9])
    track = Track(times, np.full(3, 300.0), np.ones(3), np.zeros(3))
    given_back = unlevelled(track, _sound(_levelled(_scene())), PASSBY).level_db
    assert given_back[1] - given_back[0] > 3.0
    assert given_back[1] - given_back[2] > 3.0


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_hum_under_automatic_gain_is_found(seed: int) -> None:
    turned = render(_levelled(_scene(coherence_s=0.25)), seed)
    told = replace(options(), sound_speed=SOUND_SPEED, source_kind="wheel")
    m = measure(Recording.from_array(turned, RATE), told)
    assert m.fit is not None, m.detection.reason
    q = m.fit.speed_mps
    assert abs(q.value - PASSBY.speed_mps) < 3.0 * q.u
