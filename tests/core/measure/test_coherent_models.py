"""Coherent models with prior knowledge against a general least-squares solver, on envelopes.

The envelopes are drawn here from the written-out model: every harmonic a constant complex
amplitude times d/r, turned by the source's phase, in white noise.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import least_squares

from wayside.measure.coherent import FARTHEST, _accelerated, _known
from wayside.measure.demod import Blocks
from wayside.measure.fitted import scaling
from wayside.measure.ladder import Rung, climb
from wayside.measure.motion import NAMES, phase_model, to_vector
from wayside.measure.phasefit import Priors
from wayside.measure.phases import clear_run, track_phase
from wayside.measure.polished import Polished
from wayside.measure.staging import RIDER
from wayside.physics.passby import PassBy

HUM = PassBy(300.0, 6.0, 1.5, 1.7, 343.2, -0.05, True)
BUZZER = PassBy(700.0, 8.0, 1.5, 1.7, 343.2, -0.2, False)
TIMES = np.arange(0.0125, 4.0, 0.025)
AMPLITUDES = np.array([0.5 + 0.2j, -0.1 + 0.3j])


def _blocks(p: PassBy, noise: float, seed: int = 1) -> Blocks:
    rng = np.random.default_rng(seed)
    reference = p.with_(speed_mps=p.speed_mps * 1.002, acceleration_mps2=0.0)
    model = phase_model(p, TIMES)
    cycles = phase_model(reference, TIMES).cycles
    k = np.array([1, 2])
    turn = np.exp(2j * np.pi * k[:, None] * (model.cycles - cycles))
    white = rng.standard_normal((2, 2, TIMES.size)) * math.sqrt(noise / 2)
    z = AMPLITUDES[:, None] * model.spread * turn + white[0] + 1j * white[1]
    return Blocks(TIMES, z, np.full(2, noise), k, reference, 0.025, cycles)


def _whole(blocks: Blocks, p: PassBy) -> Polished:
    return Polished(climb(blocks, p, 4 * blocks.times_s.size, level=True), blocks, True)


def _oracle(
    blocks: Blocks, start: PassBy, priors: Priors, coasting: tuple[float, float]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Best parameters and their covariance by scipy, amplitudes solved inside each residual."""
    scale = np.array([start.source_hz, start.speed_mps, start.closest_m, 0.25, 1.0])

    def residuals(x: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        p = start.with_(**dict(zip(NAMES, map(float, x * scale), strict=True)))
        model = phase_model(p, TIMES)
        a = model.spread
        parts = []
        for row, k, noise in zip(blocks.z, blocks.harmonics, blocks.noise, strict=True):
            turn = np.exp(2j * np.pi * k * (model.cycles - blocks.reference_cycles))
            wave = a * turn
            rest = (row - (np.conj(wave) @ row) / (a @ a) * wave) / math.sqrt(noise / 2)
            parts += [rest.real, rest.imag]
        known = [(p.acceleration_mps2 - coasting[0]) / coasting[1]]
        if priors.closest_m:
            value, u = priors.closest_m
            known.append(math.log(p.closest_m / value) / (u / value))
        if priors.cycles_per_metre and p.speed_tied:
            value, u = priors.cycles_per_metre
            known.append(math.log(p.source_hz / p.speed_mps / value) / (u / value))
        return np.concatenate([*parts, known])

    found = least_squares(
        residuals, to_vector(start) / scale, "3-point", x_scale="jac", diff_step=1e-6, xtol=1e-14,
        ftol=1e-14,
    )  # fmt: skip
    covariance = np.linalg.inv(found.jac.T @ found.jac) * np.outer(scale, scale)
    return found.x * scale, covariance


@pytest.mark.parametrize(
    "priors",
    [
        Priors(),
        Priors(closest_m=(1.55, 0.02)),
        Priors(cycles_per_metre=(50.4, 0.3)),
        Priors(closest_m=(1.45, 0.05), cycles_per_metre=(49.8, 0.2)),
    ],
)
@pytest.mark.parametrize("tied", [True, False])
def test_value_and_covariance_are_a_general_solver_s(tied: bool, priors: Priors) -> None:
    truth, noise = (HUM, 0.004) if tied else (BUZZER, 0.002)
    blocks = _blocks(truth, noise)
    fit = _accelerated(_whole(blocks, truth), truth, tied, priors)
    best, covariance = _oracle(blocks, truth, priors, RIDER.coasting_mps2 if tied else (0.0, 1.0))
    # prior knowledge enters by one linear step: near, not to the digit, where it moves much
    slack = 0.5 if tied else 0.1
    u = np.sqrt(np.diag(covariance))
    assert np.all(np.abs(to_vector(fit.passby) - best) < slack * u)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(u, rel=0.25 * slack)
    unit = np.outer(u, u)
    assert fit.covariance / unit == pytest.approx(covariance / unit, abs=0.5 * slack)
    assert (fit.kind, fit.method) == ("speed-tied" if tied else "fixed", "coherent")
    assert fit.by_c == pytest.approx(scaling(fit.passby))


def test_the_right_kind_has_the_greater_evidence() -> None:
    for truth, noise in ((HUM.with_(acceleration_mps2=-0.25), 0.003), (BUZZER, 0.002)):
        blocks = _blocks(truth, noise)
        fits = {t: _accelerated(_whole(blocks, truth), truth, t, Priors()) for t in (True, False)}
        assert fits[truth.speed_tied].evidence > fits[not truth.speed_tied].evidence + 3.0


def _phase_sd(blocks: Blocks, p: PassBy) -> npt.NDArray[np.float64]:
    return 2.0 * np.pi * np.sqrt(track_phase(blocks, p).noise)


@pytest.mark.parametrize("level", [0.15, 0.3, 0.7])
def test_the_clear_run_is_the_longest_about_the_passing(level: float) -> None:
    blocks = _blocks(HUM, 0.01)
    sd = _phase_sd(blocks, HUM)
    first, last = clear_run(blocks, HUM, level)
    centre = int(np.argmin(np.abs(TIMES - HUM.passing_time_s)))
    assert first <= centre < last
    assert np.all(sd[first:last] < level)
    assert first == 0 or sd[first - 1] >= level
    assert last == sd.size or sd[last] >= level


@pytest.mark.parametrize("hole", [(50, 60), (100, 110), (76, 84)])
def test_a_hole_ends_the_clear_run(hole: tuple[int, int]) -> None:
    blocks = _blocks(HUM, 1e-4)
    blocks.z[:, hole[0] : hole[1]] *= 1e-4
    first, last = clear_run(blocks, HUM, 0.3)
    assert last > first
    assert not (first < hole[1] and last > hole[0] + 2)
    sd = _phase_sd(blocks, HUM)
    assert np.all(sd[first:last] < 0.3)
    # the good block nearest to the passing is in it
    centre = int(np.argmin(np.abs(TIMES - HUM.passing_time_s)))
    good = np.flatnonzero(sd < 0.3)
    nearest = int(good[np.argmin(np.abs(good - centre))])
    assert first <= nearest < last


def test_where_nothing_is_clear_there_is_no_run() -> None:
    assert clear_run(_blocks(HUM, 50.0), HUM, 0.05) == (0, 0)


def test_prior_knowledge_at_odds_with_clear_sound_costs_its_density() -> None:
    # the sound alone fixes the distance, so evidence differs by the priors' lognormal densities
    blocks = _blocks(BUZZER, 1e-4)

    def evidence(value: float, u: float) -> float:
        return _accelerated(
            _whole(blocks, BUZZER), BUZZER, False, Priors(closest_m=(value, u))
        ).evidence

    def density(value: float, u: float) -> float:
        spread = u / value
        return -math.log(spread) - 0.5 * (math.log(value / 1.5) / spread) ** 2

    for value, u in ((1.5, 0.3), (1.8, 0.1), (1.2, 0.15)):
        expected = density(value, u) - density(1.5, 0.1)
        assert evidence(value, u) - evidence(1.5, 0.1) == pytest.approx(expected, abs=0.2)


def test_a_step_from_noise_without_a_peak_is_bounded() -> None:
    # speed and acceleration told apart by nothing: what is known of the one moves the other away
    along = np.array([0.0, 1e-5, 0.0, 0.0, 1.0])
    rung = Rung(HUM, 40.0, np.outer(along, along), TIMES.size)
    fit = _known(rung, Priors(acceleration_mps2=RIDER.coasting_mps2))
    assert abs(math.log(fit.passby.speed_mps / HUM.speed_mps)) == pytest.approx(FARTHEST)
    assert np.all(np.isfinite(fit.covariance))
