"""A background made even: its course, whether it is a gain, and what it does to the fit.

The course is held against the one put in; the sound is the project's own rendering
(self-consistency).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.core.measure.recordings import TONE, options, scene_of

from wayside.measure.evenness import background_course, broad_course, made_even
from wayside.measure.pipeline import measure
from wayside.measure.refine import Sound
from wayside.simulate.render import render
from wayside.simulate.scene import Recorder
from wayside.sound.recording import Recording

RATE = 16_000.0
LINES = (1, 2)
LENGTH_S = 3.2


def _sound(gained: bool = False, seed: int = 3, tnr_db: float = 30.0) -> Sound:
    scene = scene_of(length_s=LENGTH_S, tnr_db=tnr_db)
    if gained:
        scene = scene.with_(recorder=Recorder(automatic_gain=True))
    return Sound(render(scene, seed)[:, 0], RATE, 0.0)


def _gust(sound: Sound) -> tuple[Sound, np.ndarray]:
    """Add wind that doubles the noise's amplitude for half a second; return its amplitude."""
    noise = render(scene_of(length_s=LENGTH_S, tnr_db=-60.0), 8)[:, 0]
    own = sound.samples
    t = np.arange(own.size) / RATE
    size = 1.0 + np.exp(-0.5 * ((t - 1.0) / 0.25) ** 2)
    noise = noise / np.std(noise) * np.std(own) * 0.2
    return Sound((own + noise * size).astype(np.float32), RATE, 0.0), size


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_an_even_background_is_left_alone(seed: int) -> None:
    sound = _sound(seed=seed)
    assert background_course(sound, TONE, LINES) is None
    assert made_even(sound, TONE, LINES, LENGTH_S) is sound


def test_the_course_is_that_of_the_wind() -> None:
    sound, size = _gust(_sound())
    for course in (background_course(sound, TONE, LINES), broad_course(sound)):
        assert course is not None
        t = course.times_s
        true = np.interp(t, np.arange(size.size) / RATE, size)
        ratio = course.size / true
        assert np.std(ratio / np.mean(ratio)) < 0.1
    even = made_even(sound, TONE, LINES, LENGTH_S)
    # the tone was not turned up with the wind, so that now it is turned down
    assert even.law is not None
    assert even.law.at(np.array([1.0]))[0] < 0.7 * even.law.at(np.array([2.5]))[0]


def test_a_gain_is_taken_off_the_tone_as_well() -> None:
    plain, turned = _sound(), _sound(gained=True)
    even = made_even(turned, TONE, LINES, LENGTH_S)
    assert even is not turned
    assert even.law is None
    frames = slice(1600, -1600)
    levels = [
        np.sqrt(np.convolve(s.samples[frames] ** 2, np.ones(800) / 800, "valid"))
        for s in (plain, turned, even)
    ]
    spread = [np.std(np.log(level / levels[0])) for level in levels[1:]]
    assert spread[0] > 0.2
    assert spread[1] < 0.06


def test_a_gain_changes_neither_the_fit_nor_how_sure_it_is() -> None:
    fits = []
    for gained in (False, True):
        sound = _sound(gained, tnr_db=12.0)
        found = measure(Recording.from_array(sound.samples, RATE), options())
        assert found.fit is not None
        fits.append(found.fit)
    plain, turned = fits
    assert turned.method == plain.method == "coherent"
    for name in ("source_hz", "closest_m", "passing_time_s"):
        one, other = getattr(plain, name), getattr(turned, name)
        assert abs(other.value - one.value) < 0.5 * one.u
        assert other.u == pytest.approx(one.u, rel=0.15)
