"""The constant-speed test: coverage on simulated sources, and what it says of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.benchmarks.scenarios import drawn, record
from tests.core.intervals import assert_true

from wayside.errors import InputError
from wayside.listen.steadiness import CENTS, ConstantSpeedTest, constant_speed_test, rider_pitch
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.result import Detection, Fit, Measurement
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

SOUND = Quantity(343.2, 0.6, "m/s")
RUNS = 24


def _scene(p: PassBy, coherence_s: float = math.inf, tnr_db: float = 15.0) -> Scene:
    source = Source(p, (1.0, 0.6, 0.3), coherence_s=coherence_s)
    return Scene((source,), 5.0, 11_025.0, background=Background(white_tnr_db=tnr_db))


def _as_measured(p: PassBy, method: str, coherence_s: float) -> Measurement:
    """A measurement that found about the truth, so that the test alone is tried."""

    def q(value: float, unit: str) -> Quantity:
        return Quantity(value, 0.05 * abs(value), unit)

    none = np.zeros(0)
    fit = Fit(
        p,
        q(p.approach_hz, "Hz"),
        q(p.recede_hz, "Hz"),
        q(p.source_hz, "Hz"),
        q(p.speed_mps, "m/s"),
        q(p.closest_m, "m"),
        q(p.passing_time_s, "s"),
        q(p.acceleration_mps2, "m/s^2"),
        "speed-tied" if p.speed_tied else "fixed",
        method,
        coherence_s,
        np.eye(4),
        none,
        none,
        none,
    )
    detection = Detection(100.0, 30.0, 0.005, "as if found")
    return Measurement(True, detection, SOUND, fit=fit, start_s=0.0, stop_s=5.0)


def _scores(tied: bool, coherence_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Error over standard uncertainty of drift and acceleration, a run a seed."""
    drift, motion = [], []
    for seed in range(RUNS):
        rng = np.random.default_rng([seed, int(tied)])
        p = PassBy(
            rng.uniform(200, 400),
            rng.uniform(5, 8),
            rng.uniform(1, 2.5),
            rng.uniform(2.3, 2.7),
            SOUND.value,
            -rng.uniform(0, 0.1),
            tied,
        )
        near = p.with_(
            speed_mps=p.speed_mps * rng.uniform(0.97, 1.03),
            closest_m=p.closest_m * rng.uniform(0.95, 1.05),
        )
        coherent = math.isinf(coherence_s)
        near = p if coherent else near.with_(acceleration_mps2=0.0)
        found = _as_measured(near, "coherent" if coherent else "incoherent", coherence_s)
        recording = Recording.from_array(render(_scene(p, coherence_s), seed), 11_025.0)
        test = constant_speed_test(recording, found)
        own = CENTS * p.acceleration_mps2 / p.speed_mps if tied else 0.0
        rate, a = test.drift_cents_per_s, test.acceleration_mps2
        drift.append((rate.value - own) / rate.u)
        motion.append((a.value - p.acceleration_mps2) / a.u)
    return np.array(drift), np.array(motion)


@pytest.mark.parametrize("coherence_s", [0.1, 0.4])
def test_the_drift_of_a_wandering_hum_is_as_sure_as_it_says(coherence_s: float) -> None:
    drift, motion = _scores(True, coherence_s)
    assert_true(drift, "drift")
    assert_true(motion, "acceleration")


def test_the_drift_of_a_steady_tone_is_as_sure_as_it_says() -> None:
    drift, motion = _scores(False, math.inf)
    assert_true(drift, "drift")
    assert_true(motion, "acceleration")


def _tested(
    p: PassBy, kind: str, coherence_s: float, seed: int = 4
) -> tuple[ConstantSpeedTest, Measurement]:
    recording = Recording.from_array(render(_scene(p, coherence_s, 25.0), seed), 11_025.0)
    options = MeasureOptions(sound_speed=SOUND, source_kind=kind)
    measurement = measure(recording, options)
    assert measurement.found
    return constant_speed_test(recording, measurement, options), measurement


def test_a_coasting_wheel_is_found_to_slow() -> None:
    p = PassBy(300.0, 6.0, 1.5, 2.5, 343.2, -0.12, True)
    test, measurement = _tested(p, "wheel", 1.0)
    rate = CENTS * p.acceleration_mps2 / p.speed_mps
    assert abs(test.drift_cents_per_s.value - rate) < 3 * test.drift_cents_per_s.u
    assert not test.agrees
    assert test.probability < 1e-3
    assert "slows" in test.sentence
    assert test.drift_cents.value == pytest.approx(
        test.drift_cents_per_s.value * (test.stop_s - test.start_s)
    )
    pitch = rider_pitch(measurement)
    slope = np.polyfit(pitch.times_s, pitch.cents, 1, w=1 / pitch.u_cents)[0]
    assert slope == pytest.approx(rate, rel=0.3)


def test_a_wheel_at_constant_speed_agrees() -> None:
    test, _ = _tested(PassBy(300.0, 6.0, 1.5, 2.5, 343.2, 0.0, True), "wheel", 1.0)
    assert test.agrees
    assert "agrees with a constant speed" in test.sentence
    assert "would not show" in test.sentence


def test_a_braking_horn_keeps_its_pitch_but_not_its_speed() -> None:
    test, measurement = _tested(PassBy(600.0, 8.0, 1.5, 2.5, 343.2, -0.4), "tone", math.inf)
    assert test.acceleration_mps2.value == pytest.approx(-0.4, abs=4 * test.acceleration_mps2.u)
    assert abs(test.drift_cents.value) < 4 * test.drift_cents.u
    assert not test.agrees
    assert "slows" in test.sentence
    pitch = rider_pitch(measurement)
    near = np.abs(pitch.times_s - 2.5) < 0.5
    assert np.max(np.abs(pitch.cents[near])) < 3.0


def test_without_a_pass_by_there_is_nothing_to_test() -> None:
    nothing = Measurement(False, Detection(1.0, 30.0, 0.005, "No pass-by found."), SOUND)
    recording = Recording.from_array(np.zeros(1000), 8000.0)
    with pytest.raises(InputError, match="No pass-by found"):
        constant_speed_test(recording, nothing)
    with pytest.raises(InputError, match="No pass-by found"):
        rider_pitch(nothing)


@pytest.mark.parametrize("seed", [2, 8])
def test_a_reflection_off_the_ground_is_not_taken_for_a_drift(seed: int) -> None:
    """One drift was stated six u beside the truth, the other a hundred times less surely."""
    run = drawn("tone, phone", seed)
    recording = record(run, seed)
    found = measure(recording, run.options, others=False)
    drift = constant_speed_test(recording, found, run.options).drift_cents_per_s
    assert abs(drift.value) < 3.0 * drift.u
    assert drift.u < (0.01 if seed == 2 else 1.0)
