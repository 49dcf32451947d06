"""A bicycle both of whose tyres hum, measured as such; one tyre, and what it is not."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.benchmarks.scenarios import drawn, record, truth
from tests.core.measure.recordings import HUM, SOUND_SPEED

from wayside.jobs import QUIET
from wayside.measure.demod import Blocks
from wayside.measure.fitted import ModelFit, Wheels
from wayside.measure.motion import phase_model
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import Priors
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement, Track
from wayside.measure.riding import MODES
from wayside.measure.shape import ELSEWHERE, judge_shape
from wayside.measure.twowheels import Bicycle, Hum
from wayside.measure.unrest import QUIET as NO_UNREST
from wayside.measure.wheelclimb import climb, scatter_of, unblurred
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

BOTH = "Both wheels are heard"
TIMES = np.arange(0.0, 5.0, 0.02)
WHEEL = MeasureOptions(sound_speed=SOUND_SPEED, source_kind="wheel")


def _bicycle(seed: int, ahead_m: float, ratio: float, **source: float) -> Recording:
    """A steady rider, a tyre `ahead_m` before and behind the middle, or one in the middle."""
    half = ahead_m / HUM.speed_mps
    wheels = [
        Source(HUM.with_(passing_time_s=2.5 + when, source_hz=300.0 * by), (1.0, 0.6), **source)
        for when, by in ((-half, 1 / math.sqrt(ratio)), (half, math.sqrt(ratio)))
    ]
    scene = Scene(tuple(wheels[: 2 if ahead_m else 1]), 5.0, 16_000.0, background=Background(20.0))
    return Recording.from_array(render(scene, seed)[:, 0], 16_000)


def _within(m: Measurement, truth: PassBy, most: float = 3.0) -> None:
    assert m.fit is not None
    for name in ("speed_mps", "closest_m", "source_hz", "passing_time_s"):
        found: Quantity = getattr(m.fit, name)
        assert abs(found.value - getattr(truth, name)) < most * found.u, name


@pytest.mark.parametrize("seed", [1, 2])
def test_a_bicycle_with_two_humming_tyres_is_measured_by_both(seed: int) -> None:
    m = measure(_bicycle(seed, 0.525, 1.01, coherence_s=0.3), WHEEL)
    assert m.found, m.detection.reason
    _within(m, HUM)
    assert m.fit is not None
    # told apart they say more than one tyre does, of which a fifth of the speed is open
    assert m.fit.speed_mps.relative_u < 0.15
    assert any(w.startswith(BOTH) for w in m.warnings), m.warnings


def test_one_humming_tyre_is_not_taken_for_two() -> None:
    m = measure(_bicycle(3, 0.0, 1.0, coherence_s=0.3), WHEEL, others=False)
    _within(m, HUM)
    assert not any(w.startswith(BOTH) for w in m.warnings)


# 3 under much at once, 31 under an automatic gain alone, and 51, of which one phase leads out of
# the recording
@pytest.mark.parametrize("seed", [3, 31, 51])
def test_two_tyres_under_every_effect_of_a_phone_are_found(seed: int) -> None:
    run = drawn("hum, two wheels, any recording", seed)
    m = measure(record(run, seed), run.options, others=False)
    assert m.found, m.detection.reason
    assert m.fit is not None
    _within(m, truth(run, seed, m.fit.passby))


def test_one_tyre_of_a_rider_who_wavers_is_not_measured_as_a_steady_one() -> None:
    # taken for a steady rider's, its pitch is thirteen uncertainties off
    run = drawn("hums, any recording", 655)
    assert run.scene.sources[0].wobble
    m = measure(record(run, 655), run.options, others=False)
    if m.fit is not None:
        _within(m, truth(run, 655, m.fit.passby), 2.5)


def test_two_tyres_of_a_rider_who_wavers_are_measured() -> None:
    # taken for a steady rider's, its passing is four uncertainties late, its pitch six too low
    run = drawn("hum, two wheels, wobble 1 %", 6)
    m = measure(record(run, 6), run.options, others=False)
    assert m.fit is not None, m.detection.reason
    _within(m, truth(run, 6, m.fit.passby), 2.5)


def _blocks(seed: int, bicycle: Bicycle) -> Blocks:
    """Envelopes about the middle, drawn from the model itself."""
    rng = np.random.default_rng(seed)
    p, k = bicycle.passby, np.array([1, 2])
    noise = np.full(2, 0.01)
    empty = Blocks(TIMES, np.zeros((2, TIMES.size), complex), noise, k, p, 0.02, np.zeros(0))
    empty = replace(empty, reference_cycles=phase_model(p, TIMES).cycles)
    hum = Hum(empty, Priors(), 2)
    kept = hum.kept(bicycle)
    z = np.zeros((TIMES.size, 2), complex)
    for way in hum.ways(bicycle):
        state = _normal(rng, 2)
        for i in range(TIMES.size):
            z[i] += way[i] * state
            state = kept * state + np.sqrt(1 - kept**2) * _normal(rng, 2)
    z += np.sqrt(noise) * _normal(rng, TIMES.size, 2)
    return replace(empty, z=z.T)


def _normal(rng: np.random.Generator, *shape: int) -> np.ndarray:
    return (rng.normal(size=shape) + 1j * rng.normal(size=shape)) / math.sqrt(2)


NONE = np.zeros(2)
STEADY = np.zeros(MODES)
LINES = np.array([0.0, -1.0])
TRUE = Bicycle(HUM, 0.008, 0.0, 1.0, 0.0, 0.0, math.log(0.3), 0.0, STEADY, LINES, NONE, NONE)
COASTING = Priors(acceleration_mps2=(0.0, 0.05), weak=True)


@pytest.mark.parametrize("louder", [-20.0, 20.0])
def test_a_wheel_that_is_all_but_alone_is_where_the_hum_comes_from(louder: float) -> None:
    hum = Hum(_blocks(0, TRUE), COASTING, 2)
    single = replace(hum, wheels=1)
    _, alone = single.ways(TRUE)
    front, rear = hum.ways(replace(TRUE, louder=louder))
    loud = rear if louder > 0 else front
    assert loud == pytest.approx(alone, abs=1e-6)


def test_the_hum_comes_from_the_place_that_divides_the_wheelbase_as_the_power_is_divided() -> None:
    # the rear wheel has three quarters of the power of each harmonic, so that it is 0.2625 m
    # behind and the front one 0.7875 m ahead (common practice: 1.05 m apart)
    hum = Hum(_blocks(0, TRUE), COASTING, 2)
    front, rear = hum.ways(replace(TRUE, louder=math.log(3.0)))
    v = TRUE.passby.speed_mps
    # the level turns where each wheel is beside, at most a block off
    first, last = (TIMES[np.argmax(np.abs(way[:, 0]))] for way in (front, rear))
    beside = TRUE.passby.heard_passing_s
    assert first == pytest.approx(beside - 0.7875 / v, abs=0.011)
    assert last == pytest.approx(beside + 0.2625 / v, abs=0.011)


def test_the_fit_scatters_as_it_says_where_the_hum_is_what_it_is_taken_for() -> None:
    z, told = [], []
    for seed in range(24):
        top = climb(Hum(_blocks(seed, TRUE), COASTING, 2), TRUE, QUIET)
        inverse = np.linalg.inv(top.information + top.known)
        told.append(np.sqrt(np.diag(inverse))[:6])
        z.append(TRUE.steps_to(top.bicycle)[:6] / told[-1])
    # a mean square of 24 is known to 29 %; that of an estimate leaning on priors is at most 1
    square = np.mean(np.array(z) ** 2, axis=0)
    assert np.all(square < 1.9), square
    assert np.mean(square) > 0.4
    # the pitch and the ratio of the wheels stand out
    assert np.median(np.array(told)[:, 5]) < 0.003


def test_a_hum_of_constant_strength_scatters_more_than_its_harmonics_alone_would() -> None:
    # twice for a strength that does not vary, and again for two harmonics that wander together,
    # where noise is no matter and the sources do not disturb each other
    far = replace(TRUE, louder=-12.0)
    top = climb(Hum(_blocks(1, far), COASTING, 2), far, QUIET)
    held = replace(top, bicycle=far)
    _, excess = scatter_of(Hum(_blocks(1, far), COASTING, 2), held, np.random.default_rng(2), QUIET)
    assert 1.5 < excess < 5.0


@pytest.mark.parametrize("coherence_s", [0.12, 0.25])
def test_the_coherence_time_is_found_through_the_low_pass(coherence_s: float) -> None:
    # a wander drawn every half millisecond, low-passed as the envelopes are
    m = measure(_bicycle(5, 0.525, 1.01, coherence_s=coherence_s), WHEEL, others=False)
    assert m.fit is not None
    assert m.fit.coherence_time_s == pytest.approx(coherence_s, rel=0.3)


def test_a_short_coherence_time_is_blurred_more_than_a_long_one() -> None:
    blocks = _blocks(1, TRUE)
    # each time found is that of a source that keeps its phase for less; the less so, the longer
    shorter = [unblurred(blocks, math.log(t)) - math.log(t) for t in (0.06, 0.3, 3.0)]
    assert shorter == sorted(shorter)
    assert -0.8 < shorter[0] < -0.3
    assert -0.3 < shorter[2] < 0.0


def _judged(wheels: Wheels | None, level_db: np.ndarray, told: bool = False) -> tuple[str, ...]:
    p = HUM
    u = np.full(TIMES.size, 0.2)
    track = Track(TIMES, p.pitch(TIMES), u, level_db)
    cov = np.diag([0.1, 0.5, 0.2, 0.05, 0.01]) ** 2
    model = ModelFit(p, cov, "incoherent", NO_UNREST, 0.0, np.zeros(5))
    return judge_shape(model, track, -60.0, wheels=wheels, told=told).faults


def test_a_beating_level_speaks_against_one_wheel_but_not_against_two() -> None:
    beating = 8.0 * np.cos(2 * np.pi * 1.3 * TIMES)
    heard = Wheels(0.01, 0.001, 1.0, 40.0, 10.0)
    assert ELSEWHERE in _judged(None, beating)
    assert ELSEWHERE not in _judged(heard, beating)
    assert ELSEWHERE in _judged(replace(heard, fading_told=12.0), beating)
    assert ELSEWHERE in _judged(replace(heard, fading=0.1), beating)


def test_of_told_wheels_that_keep_their_phase_the_level_need_not_tell_as_much() -> None:
    beating = 8.0 * np.cos(2 * np.pi * 1.3 * TIMES)
    crossing = HUM.closest_m / HUM.speed_mps
    kept = Wheels(0.01, 0.001, 1.0, 12.0, 10.0, coherence_s=2.0 * crossing)
    lost = replace(kept, coherence_s=0.5 * crossing)
    assert ELSEWHERE not in _judged(kept, beating, told=True)
    assert ELSEWHERE in _judged(lost, beating, told=True)
    assert ELSEWHERE in _judged(kept, beating, told=False)
    assert ELSEWHERE in _judged(replace(kept, fading_told=3.0), beating, told=True)


def test_a_hum_that_fades_is_measured_without_its_phase_and_left_open_how_many_wheels() -> None:
    # a beating hum whose two lines lie too near to be told apart within the coherence time
    run = drawn("hum, two wheels, any recording", 21)
    m = measure(record(run, 21), run.options, others=False)
    assert m.found, m.detection.reason
    assert m.fit is not None
    _within(m, truth(run, 21, m.fit.passby))
    assert any("one wheel hums or both" in w for w in m.warnings), m.warnings


@pytest.mark.parametrize(
    ("condition", "seed", "model"),
    [
        # followed as one phase it looks like a horn at twice the speed
        ("hum, two wheels", 1, "speed-tied"),
        # fringes make its level stray as far as a beat does
        ("tone, ground", 9, "fixed"),
    ],
)
def test_of_unknown_kind_a_beating_hum_is_a_wheel_and_a_tone_with_fringes_is_none(
    condition: str, seed: int, model: str
) -> None:
    run = drawn(condition, seed)
    m = measure(record(run, seed), replace(run.options, source_kind="unknown"), others=False)
    assert m.found, m.detection.reason
    assert m.fit is not None
    assert m.fit.source_model == model
    _within(m, truth(run, seed, m.fit.passby))


def _coloured_hiss(seed: int) -> Recording:
    """A hiss that a tyre rings to at 1500 Hz, for 4 ms, as loud as distance makes it."""
    rng = np.random.default_rng(seed)
    t = np.arange(5 * 16_000) / 16_000
    ring = np.sin(2 * np.pi * 1500.0 * t[:800]) * np.exp(-t[:800] / 0.004)
    hiss = np.convolve(rng.standard_normal(t.size), ring)[: t.size]
    x = 0.1 * hiss / np.std(hiss) * phase_model(HUM, t).spread + 0.003 * rng.standard_normal(t.size)
    return Recording.from_array(x.astype(np.float32), 16_000)


def test_a_hiss_that_rises_and_falls_as_a_bicycle_passes_has_no_pitch() -> None:
    # it was given a pitch to 6 Hz, which is that of the ring
    told = replace(WHEEL, band_hz=(1300.0, 1700.0))
    assert not measure(_coloured_hiss(2), told, others=False).found


def test_a_hum_whose_passing_was_not_recorded_is_still_measured_as_one() -> None:
    # there is no level at the passing to ask for a beat
    run = drawn("hum, cut short", 3)
    m = measure(record(run, 3), run.options, others=False)
    assert m.found, m.detection.reason
    assert m.fit is not None
    _within(m, truth(run, 3, m.fit.passby))
