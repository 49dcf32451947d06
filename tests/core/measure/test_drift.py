"""A tone whose own pitch drifts, and what would be taken for speed if that were left out.

The sound is worked out here from the wave's travelling time alone (elementary), apart from the
simulator.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options, recorded, uncertainties_off

from wayside.errors import Cancelled
from wayside.jobs import QUIET, Job
from wayside.listen.steadiness import constant_speed_test
from wayside.measure.demod import Blocks, demodulate
from wayside.measure.drift import FAST_PER_S, counted, drift_cycles, drifting_tone
from wayside.measure.ladder import CONSTANT, moved, sums_at
from wayside.measure.pipeline import measure
from wayside.measure.polished import Polished, whole_fit
from wayside.measure.result import Measurement
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

RATE, LENGTH_S = 16_000.0, 7.0
P = PassBy(1450.0, 5.3, 2.1, 3.4, SOUND_SPEED.value)
OWN = "own pitch"
CENTS = 1200.0 / math.log(2.0)


def _sound(per_s: float, tnr_db: float, seed: int, p: PassBy = P) -> np.ndarray:
    """The sound of a source of two harmonics, its way there found by iteration."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(LENGTH_S * RATE)) / RATE
    tau = t
    for _ in range(30):
        r = np.hypot(p.speed_mps * (tau - p.passing_time_s), p.closest_m)
        tau = t - r / p.sound_speed_mps
    since = tau - p.passing_time_s
    cycles = p.source_hz * (since + 0.5 * per_s * since**2)
    tone = np.cos(2 * np.pi * cycles) + 0.5 * np.cos(4 * np.pi * cycles + 1.0)
    noise = 10 ** (-tnr_db / 20) * rng.standard_normal(t.size)
    return (0.1 * (tone / np.sqrt(0.625) * p.closest_m / r + noise)).astype(np.float32)


def _measured(per_s: float, tnr_db: float, seed: int = 1) -> Measurement:
    m = measure(Recording.from_array(_sound(per_s, tnr_db, seed), RATE), options())
    assert m.found, m.detection.reason
    return m


def _worst(m: Measurement, p: PassBy = P) -> float:
    """How many uncertainties the worst of four parameters is off."""
    return max(uncertainties_off(m, p))


# loud, as loud as the noise, and fainter, where less than the slowest here is not seen
@pytest.mark.parametrize(
    ("per_s", "tnr_db"),
    [(-7e-4, 12.0), (5e-5, 12.0), (3e-4, 0.0), (-7e-4, -8.0), (1e-4, -8.0)],
)
def test_a_drift_is_not_taken_for_speed(per_s: float, tnr_db: float) -> None:
    m = _measured(per_s, tnr_db)
    assert _worst(m) < 3.0
    assert m.fit is not None
    assert m.fit.speed_mps.relative_u < 0.01
    if per_s * 10 ** (tnr_db / 20) > 1e-4:
        way = "falls" if per_s < 0 else "rises"
        assert any(OWN in w and way in w for w in m.warnings), m.warnings


def test_a_drift_is_no_change_of_speed() -> None:
    # a braking rider's phase leaves the curve at the ends, and so does this
    m = _measured(-7e-4, 12.0)
    assert not any("keep its speed" in w or "kept its speed" in w for w in m.warnings), m.warnings


@pytest.mark.parametrize("seed", range(3))
def test_a_steady_tone_is_not_said_to_drift(seed: int) -> None:
    m = _measured(0.0, 5.0, seed)
    assert _worst(m) < 3.5
    assert not any(OWN in w for w in m.warnings), m.warnings
    assert m.fit is not None
    assert m.fit.method == "coherent"


def test_the_riders_frame_shows_the_drift() -> None:
    per_s = 3e-4
    recording = Recording.from_array(_sound(per_s, 12.0, 2), RATE)
    found = measure(recording, options())
    test = constant_speed_test(recording, found, options())
    drift = test.drift_cents_per_s
    assert drift.value == pytest.approx(CENTS * per_s, abs=4.0 * drift.u + 0.02 * CENTS * per_s)
    assert test.agrees


def test_a_drift_is_told_beside_a_wavering_speed() -> None:
    source = Source(P, (1.0, 0.5), drift_per_s=-6e-4, wobble=0.004)
    scene = Scene((source,), LENGTH_S, RATE, background=Background(10.0))
    m = measure(Recording.from_array(render(scene, 3)[:, 0], RATE), options())
    assert m.fit is not None, m.detection.reason
    # the mean speed about the passing is another than 5.3, by about as much as it wobbles
    assert abs(m.fit.speed_mps.value - P.speed_mps) < 3.0 * math.hypot(
        m.fit.speed_mps.u, 0.004 * P.speed_mps
    )


def _polished(per_s: float, seed: int = 4) -> Polished:
    blocks = demodulate(_sound(per_s, 0.0, seed), RATE, 0.0, P, (1, 2), 0.03)
    return Polished(whole_fit(blocks, P), blocks, False)


@pytest.mark.parametrize("per_s", [-6e-4, -3e-5, 2e-4])
def test_the_drift_itself_is_told(per_s: float) -> None:
    # from a steady fit that may have slipped by cycles
    polished = _polished(per_s)
    found = drifting_tone(polished, polished.rung.passby, QUIET)
    assert abs(found.drift.per_s - per_s) < 3.0 * found.drift.u
    assert found.drift.u < 5e-5
    for i, name in ((0, "source_hz"), (1, "speed_mps"), (2, "closest_m")):
        off = math.log(getattr(found.part.passby, name) / getattr(P, name))
        assert abs(off) < 3.5 * math.sqrt(found.part.covariance[i, i]), name


def test_slopes_by_the_drift_are_those_of_differences() -> None:
    blocks = _polished(2e-4).blocks
    edges = np.array([0, 60, 120])
    p, step = moved(P, np.array([1e-5, 0.01, -0.02, 0.01]), CONSTANT), 1e-4

    def gain(by: float) -> float:
        return sums_at(counted(blocks, p, by * FAST_PER_S), p, edges, CONSTANT).gain

    column = drift_cycles(p, blocks.times_s, FAST_PER_S)[None, :]
    sums = sums_at(blocks, p, edges, CONSTANT, beside=column)
    # the gradient is half the slope of the gain
    assert 2.0 * sums.gradient[-1] == pytest.approx(
        (gain(step) - gain(-step)) / (2.0 * step), rel=1e-4
    )
    assert sums.gradient[:-1] == pytest.approx(sums_at(blocks, p, edges, CONSTANT).gradient)


def test_a_drift_that_is_counted_is_gone() -> None:
    per_s = 3e-4
    blocks: Blocks = counted(_polished(per_s).blocks, P, per_s)
    found = drifting_tone(Polished(whole_fit(blocks, P), blocks, False), P, QUIET)
    assert abs(found.drift.per_s) < 3.0 * found.drift.u


def test_it_can_be_stopped() -> None:
    polished = _polished(1e-4)
    with pytest.raises(Cancelled):
        drifting_tone(polished, P, Job(cancelled=lambda: True))


def test_the_usual_recording_is_measured_as_before() -> None:
    m = measure(recorded(), options())
    assert not any(OWN in w for w in m.warnings)
