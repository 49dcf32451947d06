"""The renderer against outside facts: a textbook train, an independent root finder, optics."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, signal

from wayside.errors import InputError
from wayside.jobs import Job
from wayside.physics.passby import PassBy
from wayside.simulate.motion import Motion, Weave, weaving, wobbling
from wayside.simulate.propagation import hear
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Microphone, Recorder, Scene, Source, simple_scene

RATE = 16000.0


def _pitch(sound: np.ndarray, start_s: float, stop_s: float, rate: float = RATE) -> float:
    """Mean pitch by the slope of the analytic signal's phase."""
    part = sound[int(start_s * rate) : int(stop_s * rate)].astype(float)
    phase = np.unwrap(np.angle(signal.hilbert(part)))
    edge = len(part) // 10
    slope = np.polyfit(np.arange(len(part))[edge:-edge], phase[edge:-edge], 1)[0]
    return float(slope * rate / (2 * np.pi))


def test_train_horn_of_a_textbook_is_heard_at_its_published_pitches() -> None:
    # OpenStax College Physics, section 17.4: 150 Hz horn at 35.0 m/s, c = 340 m/s: 167 Hz
    # coming (read), 136 Hz going (from memory; 150 * 340 / 375 = 136.0).
    train = PassBy(150.0, 35.0, 1.0, 3.0, 340.0)
    sound = render(simple_scene(train, 6.0, RATE))[:, 0]
    assert round(_pitch(sound, 0.0, 1.0)) == 167
    assert round(_pitch(sound, 5.0, 6.0)) == 136


@settings(max_examples=40, deadline=None)
@given(
    v=st.floats(1, 60),
    d=st.floats(0.5, 20),
    a=st.floats(-0.15, 0.15),
    wind=st.floats(-10, 10),
    x=st.floats(-2, 2),
    t=st.floats(-3, 3),
    direction=st.sampled_from([-1, 1]),
    weave=st.floats(0, 0.15),
)
def test_emission_time_agrees_with_a_bracketing_root_finder(
    v: float, d: float, a: float, wind: float, x: float, t: float, direction: int, weave: float
) -> None:
    # independent of the module: march the air-borne sound and bracket the root (scipy brentq)
    p = PassBy(300.0, v, d, 0.0, 340.0, a)
    c = p.sound_speed_mps

    def late(tau: float) -> float:
        source = direction * (v * tau + a * tau * tau / 2)
        aside = weave * math.sqrt(2.0) * (math.sin(2 * math.pi * 0.4 * tau + 0.7) - math.sin(0.7))
        return math.hypot(x - source - wind * (t - tau), d + aside) - c * (t - tau)

    root = optimize.brentq(late, t - 5, t, xtol=1e-14, rtol=1e-14)
    line = Weave(weave, (0.4,), (0.7,)) if weave else None
    path = hear(Motion(p, direction, weave=line), np.array([t]), d, x, wind)
    assert path.emission_s[0] == pytest.approx(root, abs=1e-10)
    assert path.path_m[0] == pytest.approx(c * (t - root), rel=1e-8)


def test_pitch_ratio_is_the_slope_of_the_emission_time() -> None:
    rng = np.random.default_rng(4)
    motion = weaving(wobbling(PassBy(300, 12, 2, 1, 343), 1, 0.01, 3.0, rng), 0.1, 2.0, rng)
    t = np.linspace(0, 2, 20001)
    path = hear(motion, t, 2.5, 0.1, 4.0)
    assert np.allclose(np.gradient(path.emission_s, t)[1:-1], path.rate[1:-1], atol=1e-6)


def test_level_follows_spreading_and_convection() -> None:
    # (d/r) (dtau/dt)^2 for a moving monopole: Morse and Ingard, section 11.2
    p = PassBy(2000.0, 30.0, 4.0, 1.0, 340.0)
    sound = render(simple_scene(p, 2.0, RATE))[:, 0]
    loud = np.abs(signal.hilbert(sound))
    t = np.arange(len(sound)) / RATE
    tau = p.emission_time(t)
    mach_cos = -30.0 / 340.0 * p.position(tau) / p.distance(tau)
    expected = 0.1 * math.sqrt(2) * 4.0 / p.distance(tau) / (1 - mach_cos) ** 2
    middle = slice(2000, -2000)
    assert np.allclose(loud[middle], expected[middle], rtol=2e-3)


def test_ground_reflection_is_the_two_path_comb() -> None:
    # a source that hardly moves: |1 + R (r1/r2) exp(-j k (r2 - r1))|, elementary interference
    p = PassBy(1000.0, 0.001, 4.0, 0.5, 340.0)
    source, ear = 0.5, 1.5
    scene = Scene(
        (Source(p, height_m=source),), 1.0, RATE, Microphone(height_m=ear), ground_reflection=0.8
    )
    image = math.sqrt(16 + 4 * source * ear)
    for hz in (400.0, 700.0, 1000.0, 1300.0):
        one = scene.with_(sources=(Source(p.with_(source_hz=hz), height_m=source),))
        rms = float(np.sqrt(np.mean(render(one)[4000:12000].astype(float) ** 2)))
        k = 2 * math.pi * hz / 340.0
        comb = abs(1 + 0.8 * 4.0 / image * np.exp(-1j * k * (image - 4.0)))
        assert rms == pytest.approx(0.1 * comb, rel=5e-3)


def test_harmonics_above_half_the_rate_are_dropped_not_folded() -> None:
    p = PassBy(1500.0, 5.0, 2.0, 1.0, 340.0)
    sound = render(simple_scene(p, 2.0, 8000.0, harmonics=(0.0, 0.0, 1.0)))
    assert not sound.any()


def test_white_noise_has_the_stated_tone_to_noise_ratio() -> None:
    p = PassBy(440.0, 5.0, 2.0, 1.0)
    with_noise = simple_scene(p, 2.0, RATE, (1.0, 0.5), -10.0)
    noise = render(with_noise, 3) - render(
        with_noise.with_(background=Background()), 3
    )  # same seed, same tone
    assert np.mean(noise.astype(float) ** 2) == pytest.approx(0.01 * 10, rel=0.03)


def test_phase_wander_has_the_stated_coherence() -> None:
    # E[exp(j dphi)] = exp(-|dt|/Tc), the definition; slow source, so tau is t but for a shift
    p = PassBy(1000.0, 0.001, 2.0, 30.0)
    scene = Scene((Source(p, coherence_s=0.2),), 60.0, 8000.0)
    analytic = signal.hilbert(render(scene, 11)[:, 0].astype(float))
    base = analytic * np.exp(-2j * np.pi * 1000.0 * np.arange(len(analytic)) / 8000.0)
    base /= np.abs(base)
    for lag_s in (0.05, 0.1, 0.2):
        lag = int(lag_s * 8000)
        seen = abs(np.mean(base[lag:] * np.conj(base[:-lag])))
        assert seen == pytest.approx(math.exp(-lag_s / 0.2), abs=0.08)


def test_wheel_slows_in_pitch_and_tone_does_not() -> None:
    slowing = PassBy(400.0, 6.0, 2.0, 0.0, 340.0, -0.1, speed_tied=True)
    for p, expected in ((slowing, 400.0 * 5.4 / 6.0), (slowing.with_(speed_tied=False), 400.0)):
        sound = render(simple_scene(p.with_(passing_time_s=1.0), 8.0, RATE))[:, 0]
        t = np.array([7.0])
        tau = p.with_(passing_time_s=1.0).emission_time(t)[0]
        v = 6.0 - 0.1 * (tau - 1.0)
        x = 6.0 * (tau - 1) - 0.05 * (tau - 1) ** 2
        heard = (expected + (400 / 6 * (v - 5.4) if p.speed_tied else 0)) / (
            1 + v / 340.0 * x / math.hypot(x, 2.0)
        )
        assert _pitch(sound, 6.9, 7.1) == pytest.approx(heard, rel=2e-4)


def test_sound_reaches_the_nearer_microphone_first() -> None:
    p = PassBy(400.0, 5.0, 2.0, 1.0, 340.0)
    scene = Scene((Source(p, hiss_tnr_db=-20.0),), 0.5, 48000.0, Microphone(2, spacing_m=0.5))
    sound = render(scene, 2).astype(float)
    lag = int(np.argmax(signal.correlate(sound[:, 1], sound[:, 0]))) - (len(sound) - 1)
    # coming from the left, about 5 to 2.5 m away: 0.5 m of extra path at most
    assert 0.6 * 0.5 / 340 * 48000 < lag <= 0.5 / 340 * 48000


def test_out_and_back_switching_and_gain() -> None:
    p = PassBy(800.0, 6.0, 2.0, 1.0)
    there_and_back = Scene(
        (Source(p), Source(p.with_(passing_time_s=5.0), direction=-1)), 6.0, RATE
    )
    loud = np.abs(render(there_and_back)[:, 0])
    quarter = [loud[int(a * RATE) : int((a + 1) * RATE)].max() for a in (0.5, 2.5, 4.5)]
    assert quarter[0] > 2 * quarter[1] < quarter[2]

    late = Scene((Source(p, on_s=1.2),), 2.0, RATE)
    sound = render(late)[:, 0]
    assert not sound[: int(1.2 * RATE)].any()
    assert sound[int(1.3 * RATE) :].any()

    flat = render(simple_scene(p, 2.0, RATE).with_(recorder=Recorder(automatic_gain=True)))[:, 0]
    plain = render(simple_scene(p, 2.0, RATE))[:, 0]

    def dynamics(x: np.ndarray) -> float:
        return float(x[int(0.9 * RATE) : int(1.1 * RATE)].std() / x[: int(0.2 * RATE)].std())

    assert dynamics(flat) < 0.7 * dynamics(plain)
    cut = render(simple_scene(p, 2.0, RATE).with_(recorder=Recorder(clip_at=0.5)))
    assert np.mean(np.abs(cut) == 1.0) > 0.02


def test_panning_camera_hears_the_source_more_evenly() -> None:
    p = PassBy(800.0, 6.0, 2.0, 1.0)
    ear = Microphone(directivity=0.5, arm_m=0.3)
    still, turning = (
        render(Scene((Source(p),), 2.0, RATE, Microphone(1, 0.0, 1.2, 0.5, pan, ear.arm_m)))[:, 0]
        for pan in ("fixed", "follow")
    )
    first = slice(0, int(0.3 * RATE))
    assert turning[first].std() > 1.2 * still[first].std()


def test_same_seed_same_samples_and_another_seed_others() -> None:
    scene = Scene(
        (Source(PassBy(300, 6, 2, 1), (1, 0.5), coherence_s=0.2, wobble=0.01),),
        2.0,
        RATE,
        background=Background(10.0, 0.0, 5.0, 20.0),
    )
    assert np.array_equal(render(scene, 5), render(scene, 5))
    assert not np.array_equal(render(scene, 5), render(scene, 6))
    quiet = scene.with_(background=Background(10.0, 0.0, None, 20.0))
    traffic = render(scene, 5).astype(float) - render(quiet, 5)
    assert traffic.std() == pytest.approx(0.1 * 10 ** (-5 / 20), rel=0.01)


def test_progress_runs_forward_and_can_be_stopped() -> None:
    seen: list[float] = []
    scene = simple_scene(PassBy(300, 6, 2, 1), 1.0)
    render(scene, job=Job(report=lambda f, _: seen.append(f)))
    assert seen == sorted(seen)
    assert seen
    with pytest.raises(Exception, match="Stopped"):
        render(scene, job=Job(cancelled=lambda: True))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"speed_mps": -1.0}, "speed, -1 m/s, must be above 0"),
        ({"speed_mps": 400.0}, "not below the speed of sound"),
        ({"closest_m": 0.0}, "distance"),
        ({"source_hz": math.nan}, "source pitch"),
        ({"source_hz": 30000.0}, "half the sample rate"),
        ({"acceleration_mps2": -3.0}, "smaller acceleration"),
    ],
)
def test_impossible_scenes_get_one_sentence(change: dict[str, float], words: str) -> None:
    p = PassBy(300, 6, 2, 1)
    with pytest.raises(InputError, match=words) as caught:
        simple_scene(p.with_(**change), 6.0)
    assert str(caught.value).count("\n") == 0


def test_a_line_that_bends_too_far_gets_one_sentence() -> None:
    with pytest.raises(InputError, match="weave, 1 m, must be between"):
        Source(PassBy(300, 6, 2, 1), weave_m=1.0)


def test_the_line_weaves_by_the_size_asked_for_and_is_where_it_was_at_the_passing() -> None:
    p = PassBy(300, 6, 2, 1)
    since = np.linspace(-100.0, 100.0, 80001)
    motion = weaving(Motion(p), 0.05, 2.5, np.random.default_rng(3))
    assert motion.weave is not None
    aside = motion.weave.place(since)
    assert np.std(aside) == pytest.approx(0.05, rel=0.02)
    assert motion.weave.place(np.zeros(1))[0] == 0.0
    # off the ground, whose image is as high as before
    lateral, growth = motion.lateral(since + 1.0, np.array(2.5))
    assert lateral == pytest.approx(np.hypot(2.0 + aside, 1.5))
    assert growth[1:-1] == pytest.approx(np.gradient(lateral, since)[1:-1], abs=1e-4)
