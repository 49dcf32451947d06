"""A tone and its reflection off the ground, told apart.

The geometry is checked against the image source worked out here (Kuttruff 2009, *Room
Acoustics*, 5th ed., 4.1; from memory); the sound is the project's own rendering
(self-consistency).
"""

from __future__ import annotations

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from tests.benchmarks.coverage import one
from tests.core.measure.recordings import TONE, options, scene_of

from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, moved
from wayside.measure.mixture import steps_between
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import fit_phase
from wayside.measure.pipeline import measure
from wayside.measure.refine import Sound, blocks_of
from wayside.measure.reflection import Reflection, find_reflection
from wayside.measure.unrest import QUIET
from wayside.simulate.render import render
from wayside.simulate.scene import Microphone, Scene
from wayside.sound.recording import Recording

SOURCE_M, EAR_M, SHARE = 0.8, 1.2, 0.7
RATE = 16_000.0


def _over_ground(share: float = SHARE, **told: float) -> Scene:
    scene = scene_of(length_s=3.2, **told)
    sources = tuple(replace(s, height_m=SOURCE_M) for s in scene.sources)
    return scene.with_(
        sources=sources, microphone=Microphone(height_m=EAR_M), ground_reflection=share
    )


def _blocks(scene: Scene) -> Blocks:
    sound = render(scene, 1)[:, 0]
    return blocks_of(Sound(sound, RATE, 0.0), TONE, (1, 2), 0.02)


def _detour_m2() -> float:
    """Return the difference of the squared ways, from the source's mirror image."""
    direct = TONE.closest_m
    level = np.sqrt(direct**2 - (SOURCE_M - EAR_M) ** 2)
    return float(hypot(level, SOURCE_M + EAR_M) ** 2 - direct**2)


def test_the_detour_is_that_of_the_mirror_image() -> None:
    found = find_reflection(_blocks(_over_ground()), TONE.with_(speed_mps=8.05, closest_m=1.47))
    assert found is not None
    assert found.detour_m2 == pytest.approx(_detour_m2(), rel=0.02)
    assert np.abs(found.share) == pytest.approx(np.full(2, SHARE), rel=0.1)
    assert found.passby.closest_m == pytest.approx(TONE.closest_m, rel=0.01)
    longer = hypot(TONE.closest_m, 2.0 * np.sqrt(SOURCE_M * EAR_M)) - TONE.closest_m
    assert found.longer_m == pytest.approx(longer, rel=0.02)


def test_what_is_left_has_the_phase_of_the_direct_sound() -> None:
    direct = Reflection(TONE, _detour_m2(), np.full(2, SHARE + 0j))
    heard = _blocks(_over_ground(tnr_db=40.0))
    alone = _blocks(_over_ground(tnr_db=40.0, share=0.0))
    near = phase_model(TONE, heard.times_s).spread > 0.3

    def apart(blocks: Blocks) -> float:
        turned = np.angle(blocks.z * np.conj(alone.z))
        turned = np.angle(np.exp(1j * (turned - turned[:, near].mean(axis=1, keepdims=True))))
        return float(np.sqrt(np.mean(turned[:, near] ** 2)))

    assert apart(heard) > 0.2
    assert apart(direct.removed(heard)) < 0.03


def test_small_errors_turn_the_phase_as_stated() -> None:
    heard = _blocks(_over_ground(tnr_db=40.0))
    one = Reflection(TONE, _detour_m2(), np.full(2, SHARE + 0j))
    beside = one.beside(heard)
    other = replace(one, share=one.share + np.array([0.0, 0.05]))
    turned = np.angle(one.removed(heard).z * np.conj(other.removed(heard).z))[1]
    weight = 4.0 * np.abs(heard.z[1]) ** 2 / heard.noise[1]
    common = turned / 2.0 / (2.0 * np.pi)
    # the second harmonic's part of the common phase, where it outweighs the first
    strong = weight > 0.8 * (weight + np.abs(heard.z[0]) ** 2 / heard.noise[0])
    column = 0.05 * beside.columns[:, 3]
    assert np.count_nonzero(strong) > 5
    assert np.corrcoef(column[strong], common[strong])[0, 1] > 0.9
    assert beside.columns.shape == (heard.times_s.size, beside.u.size) == (heard.times_s.size, 5)


def test_a_tone_over_hard_ground_is_measured_as_if_alone() -> None:
    sound = render(_over_ground(), 3)[:, 0]
    found = measure(Recording.from_array(sound, RATE), options())
    assert found.fit is not None
    assert found.fit.closest_m.u < 0.02 * TONE.closest_m
    assert abs(found.fit.closest_m.value - TONE.closest_m) < 3.0 * found.fit.closest_m.u
    assert abs(found.fit.speed_mps.value - TONE.speed_mps) < 3.0 * found.fit.speed_mps.u
    said = [w for w in found.warnings if "off the ground" in w]
    assert len(said) == 1
    assert "m farther" in said[0]


@pytest.mark.parametrize("seed", [1, 2])
def test_a_wavering_speed_is_not_taken_for_a_reflection(seed: int) -> None:
    scene = scene_of(length_s=3.2)
    sources = tuple(replace(s, wobble=0.01) for s in scene.sources)
    sound = render(scene.with_(sources=sources), seed)[:, 0]
    found = measure(Recording.from_array(sound, RATE), options())
    assert not any("off the ground" in w for w in found.warnings)


def test_the_fit_does_not_depend_on_where_the_reflection_was_taken_off() -> None:
    blocks = _blocks(_over_ground())
    found = find_reflection(blocks, TONE)
    assert found is not None
    # off by more than the fits are uncertain
    step = np.array([3e-6, 3e-4, 3e-4, 3e-4])
    off = replace(found, passby=moved(found.passby, step, CONSTANT))
    fits = [
        fit_phase(r.removed(blocks), r.passby, CONSTANT, unrest=QUIET, beside=r.beside(blocks))
        for r in (found, off)
    ]
    apart = steps_between(fits[0].passby, fits[1].passby, CONSTANT)
    begun = steps_between(found.passby, off.passby, CONSTANT)
    assert np.all(np.abs(apart) < 0.1 * np.abs(begun))


def test_what_it_turns_moves_with_the_passby() -> None:
    blocks = _blocks(_over_ground())
    found = find_reflection(blocks, TONE)
    assert found is not None
    one = blocks.rows()[0]
    first = replace(found, share=found.share[:1])
    moving = first.beside(one).moving
    for i, small in enumerate((1e-5, 1e-3, 1e-3, 1e-3)):
        other = replace(first, passby=moved(first.passby, np.array([small]), (i,)))
        both = first.removed(one).z * np.conj(other.removed(one).z)
        turned = np.angle(both[0]) / (2.0 * np.pi)
        assert turned == pytest.approx(moving[:, i] * small, abs=2e-2 * np.max(np.abs(turned)))


@pytest.mark.parametrize("seed", [895, 1848])
def test_a_fringe_that_turns_the_phase_fast_costs_no_cycle(seed: int) -> None:
    # followed freely from block to block the phase slips, and the speed is then twice the true one
    _, out = one(("tones, any recording", seed))
    for name in ("speed_mps", "source_hz", "closest_m", "passing_time_s"):
        assert abs(out.errors[name]) < 4.0 * out.us[name], name
