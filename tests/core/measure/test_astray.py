"""A tone that is carried by someone who does not quite keep the line.

The sound is worked out here from the wave's travelling time alone (elementary), apart from the
simulator.
"""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from tests.core.measure.recordings import SOUND_SPEED, options, uncertainties_off

from wayside.errors import Cancelled
from wayside.jobs import QUIET, Job
from wayside.measure.astray import may_stray
from wayside.measure.demod import demodulate
from wayside.measure.ladder import CONSTANT
from wayside.measure.mixture import mixed
from wayside.measure.phasefit import Priors
from wayside.measure.pipeline import measure
from wayside.measure.polished import Polished, whole_fit
from wayside.measure.result import Measurement
from wayside.measure.rivals import rung_part
from wayside.physics.passby import PassBy
from wayside.sound.recording import Recording

RATE, LENGTH_S = 16_000.0, 8.0
P = PassBy(1250.0, 4.9, 2.2, 4.1, SOUND_SPEED.value)
# how a rider steers, in turns a second, and how much of each there is
TURNS_HZ, PARTS = np.array([0.29, 0.46, 0.73]), np.array([1.0, 0.8, 0.5])


def _aside(tau: np.ndarray, strays_m: float, rng: np.random.Generator) -> np.ndarray:
    """How far across the track the source is, none of it at the passing, of that RMS (m)."""
    phases = rng.uniform(0.0, 2.0 * np.pi, PARTS.size)
    since = tau[:, None] - P.passing_time_s
    turns = np.sin(2.0 * np.pi * TURNS_HZ * since + phases) - np.sin(phases)
    return np.asarray(strays_m * turns @ PARTS / math.sqrt(0.5 * float(PARTS @ PARTS)))


def _sound(strays_m: float, tnr_db: float, seed: int) -> np.ndarray:
    t = np.arange(int(LENGTH_S * RATE)) / RATE
    tau = t
    for _ in range(30):
        across = P.closest_m + _aside(tau, strays_m, np.random.default_rng(seed))
        r = np.hypot(P.speed_mps * (tau - P.passing_time_s), across)
        tau = t - r / P.sound_speed_mps
    cycles = P.source_hz * (tau - P.passing_time_s)
    tone = np.cos(2 * np.pi * cycles) + 0.5 * np.cos(4 * np.pi * cycles + 1.0)
    noise = 10 ** (-tnr_db / 20) * np.random.default_rng([seed, 1]).standard_normal(t.size)
    return (0.1 * (tone / np.sqrt(0.625) * P.closest_m / r + noise)).astype(np.float32)


def _measured(strays_m: float, tnr_db: float, seed: int) -> Measurement:
    m = measure(Recording.from_array(_sound(strays_m, tnr_db, seed), RATE), options())
    assert m.found, m.detection.reason
    return m


# clear, and so faint that the phase seems kept
@pytest.mark.parametrize(
    ("strays_m", "tnr_db", "seed"),
    [(0.02, 12.0, 1), (0.1, 12.0, 2), (0.03, -4.0, 3), (0.03, -8.0, 4), (0.06, -8.0, 5)],
)
def test_a_track_that_is_not_quite_straight(strays_m: float, tnr_db: float, seed: int) -> None:
    m = _measured(strays_m, tnr_db, seed)
    assert max(uncertainties_off(m, P)) < 3.0
    assert m.fit is not None
    assert m.fit.speed_mps.relative_u < 0.06
    if tnr_db > 0.0 or m.fit.method == "coherent":
        assert any(re.search("strays? by about", text) for text in m.limits), m.limits


@pytest.mark.parametrize("tnr_db", [12.0, -4.0])
def test_a_straight_track_is_known_as_well_as_before(tnr_db: float) -> None:
    m = _measured(0.0, tnr_db, 6)
    assert max(uncertainties_off(m, P)) < 3.5
    assert m.fit is not None
    assert m.fit.method == "coherent"
    assert m.fit.closest_m.u < 0.01
    assert m.fit.passing_time_s.u < 0.001


def _polished(strays_m: float, tnr_db: float, seed: int) -> Polished:
    blocks = demodulate(_sound(strays_m, tnr_db, seed), RATE, 0.0, P, (1, 2), 0.05)
    return Polished(whole_fit(blocks, P), blocks, False)


@pytest.mark.parametrize("seed", range(4))
def test_noise_alone_does_not_stray(seed: int) -> None:
    polished = _polished(0.0, 3.0, seed)
    ride = may_stray(polished, polished.rung.passby, Priors(), QUIET)
    assert ride is not None
    assert not ride.hinted, ride.nats


def test_what_is_hinted_at_widens_what_is_known() -> None:
    polished = _polished(0.03, -6.0, 7)
    p = polished.rung.passby
    ride = may_stray(polished, p, Priors(), QUIET)
    assert ride is not None
    assert ride.hinted
    kept = mixed([rung_part(polished.rung)], CONSTANT)
    wide = ride.beside(kept)
    assert wide.passby == kept.passby
    assert wide.covariance[2, 2] > 4.0 * kept.covariance[2, 2]


def test_too_little_is_no_ride() -> None:
    blocks = demodulate(_sound(0.0, 3.0, 1)[: int(0.4 * RATE)], RATE, 0.0, P, (1,), 0.05)
    assert may_stray(Polished(whole_fit(blocks, P), blocks, False), P, Priors(), QUIET) is None


def test_it_can_be_stopped() -> None:
    polished = _polished(0.03, 3.0, 1)
    with pytest.raises(Cancelled):
        may_stray(polished, P, Priors(), Job(cancelled=lambda: True))
