"""The line of finite width against plain matrix algebra, and its fit against its own scatter."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from wayside.measure.demod import Blocks
from wayside.measure.incoherent import COHERENCE_GRID_S, Line, fit_wandering, line_of, related
from wayside.measure.motion import NAMES, phase_model, to_vector
from wayside.measure.phasefit import Priors
from wayside.physics.passby import PassBy

TRUTH = PassBy(300.0, 8.0, 2.0, 2.0, 343.2)
FREE = (0, 1, 2, 3)
COHERENCE_S, POWER, NOISE = 0.15, np.array([1.0, 0.5]), np.array([0.05, 0.05])
TIMES = np.arange(0.0, 4.0, 0.025)


def _covariance(p: PassBy, k: int, power: float, noise: float, coherence_s: float) -> np.ndarray:
    a = phase_model(p, TIMES).spread
    lag = np.abs(TIMES[:, None] - TIMES[None, :])
    fading = np.exp(-(k**2) * lag / coherence_s)
    return power * np.outer(a, a) * fading + noise * np.eye(TIMES.size)


def _blocks(seed: int) -> Blocks:
    """Envelopes about a reference that is a little off, drawn from the model written out above."""
    rng = np.random.default_rng(seed)
    reference = TRUTH.with_(speed_mps=8.05, source_hz=300.05)
    turn = phase_model(TRUTH, TIMES).cycles - phase_model(reference, TIMES).cycles
    rows = []
    for k, power, noise in zip((1, 2), POWER, NOISE, strict=True):
        root = np.linalg.cholesky(_covariance(TRUTH, k, power, noise, COHERENCE_S))
        white = rng.standard_normal((2, TIMES.size)) / math.sqrt(2)
        rows.append(np.exp(2j * np.pi * k * turn) * (root @ (white[0] + 1j * white[1])))
    cycles = phase_model(reference, TIMES).cycles
    return Blocks(TIMES, np.array(rows), NOISE, np.array([1, 2]), reference, 0.025, cycles)


def _loglik(blocks: Blocks, p: PassBy, profile_of: PassBy, line: Line) -> float:
    """Log-likelihood of a complex normal vector, with inverse and determinant."""
    turn = phase_model(p, TIMES).cycles - blocks.reference_cycles
    total = 0.0
    for row, k, power, noise in zip(
        blocks.z, blocks.harmonics, line.power, blocks.noise, strict=True
    ):
        y = row * np.exp(-2j * np.pi * k * turn)
        c = _covariance(profile_of, int(k), float(power), float(noise), line.coherence_s)
        total -= float(np.real(np.conj(y) @ np.linalg.solve(c, y))) + np.linalg.slogdet(c)[1]
    return total


def test_the_line_is_the_likeliest_of_the_grid() -> None:
    blocks = _blocks(1)
    profile = phase_model(TRUTH, TIMES).spread
    line, loglik = line_of(blocks, TRUTH, profile)
    values = [_loglik(blocks, TRUTH, TRUTH, Line(float(s), line.power)) for s in COHERENCE_GRID_S]
    best = int(np.argmax(values))
    assert loglik == pytest.approx(values[best], rel=1e-9)
    # between the neighbours: the top of the parabola through three points, even in the logarithm
    x = np.log(COHERENCE_GRID_S[best - 1 : best + 2])
    a, b, _ = np.polyfit(x, values[best - 1 : best + 2], 2)
    assert math.log(line.coherence_s) == pytest.approx(-b / (2 * a), abs=1e-6)
    y = np.mean(np.abs(blocks.z) ** 2, axis=1)
    assert line.power == pytest.approx((y - NOISE) / np.mean(profile**2))


def test_power_and_width_are_those_put_in() -> None:
    found = [line_of(_blocks(s), TRUTH, phase_model(TRUTH, TIMES).spread)[0] for s in range(12)]
    assert np.median([f.coherence_s for f in found]) == pytest.approx(COHERENCE_S, rel=0.25)
    assert np.mean([f.power for f in found], axis=0) == pytest.approx(POWER, rel=0.2)


def test_a_harmonic_below_the_noise_keeps_a_trace_of_power() -> None:
    blocks = _blocks(1)
    silent = replace(blocks, z=1e-3 * blocks.z)
    line, _ = line_of(silent, TRUTH, phase_model(TRUTH, TIMES).spread)
    assert line.power == pytest.approx(1e-3 * NOISE)


def test_the_fit_stands_on_top_of_the_likelihood() -> None:
    blocks = _blocks(2)
    fit = fit_wandering(blocks, TRUTH.with_(speed_mps=7.8), FREE)
    u = np.sqrt(np.diag(fit.covariance))
    # the profile of the last round is that of the round before; near enough at the top
    top = _loglik(blocks, fit.passby, fit.passby, fit.line)
    assert fit.loglik == pytest.approx(top, abs=0.05)
    for i in FREE:
        for way in (-1.0, 1.0):
            theta = to_vector(fit.passby)
            theta[i] += way * u[i]
            beside = fit.passby.with_(**dict(zip(NAMES, map(float, theta), strict=True)))
            assert _loglik(blocks, beside, fit.passby, fit.line) < top, NAMES[i]


def test_errors_scatter_as_stated() -> None:
    scores = []
    for seed in range(30):
        fit = fit_wandering(_blocks(seed), TRUTH, FREE)
        off = to_vector(fit.passby)[:4] - to_vector(TRUTH)[:4]
        scores.append(off / np.sqrt(np.diag(fit.covariance)))
    rms = np.sqrt(np.mean(np.square(scores), axis=0))
    # 30 runs know a root mean square to 13 %; the stated scatter is never less than the model's
    assert np.all(rms < 1.35)
    assert np.all(rms > 0.55)


def test_prior_knowledge_pulls_by_its_weight() -> None:
    blocks = _blocks(3)
    free = fit_wandering(blocks, TRUTH, FREE)
    u = float(np.sqrt(free.covariance[2, 2]))
    aim = free.passby.closest_m + u
    tight = fit_wandering(blocks, TRUTH, FREE, Priors(closest_m=(aim, 0.02 * u)))
    assert tight.passby.closest_m == pytest.approx(aim, abs=0.1 * u)
    assert math.sqrt(tight.covariance[2, 2]) == pytest.approx(0.02 * u, rel=0.1)
    even = fit_wandering(blocks, TRUTH, FREE, Priors(closest_m=(aim, u)))
    assert free.passby.closest_m < even.passby.closest_m < aim
    assert even.covariance[2, 2] < 0.9 * free.covariance[2, 2]


def test_related_scores_are_summed_with_falling_weights() -> None:
    """Newey and West 1987, formula 5, written out as a double sum."""
    scores = np.random.default_rng(2).standard_normal((60, 2)).cumsum(axis=0)
    expected = np.zeros((2, 2))
    lags = 4
    for i in range(60):
        for j in range(60):
            if abs(i - j) <= lags:
                weight = 1.0 - abs(i - j) / (lags + 1.0)
                expected += weight * np.outer(scores[i], scores[j])
    assert related(scores, lags) == pytest.approx(expected)
    # never more than a tenth of the blocks
    assert related(scores, 50) == pytest.approx(related(scores, 6))


@pytest.mark.parametrize("steady", [True, False])
def test_beyond_the_grid_its_end_is_taken(steady: bool) -> None:
    # a tone without any wander, and envelopes that forget themselves from block to block
    blocks = _blocks(1)
    a = phase_model(TRUTH, TIMES).spread
    turn = phase_model(TRUTH, TIMES).cycles - blocks.reference_cycles
    rng = np.random.default_rng(4)
    white = rng.standard_normal((2, 2, TIMES.size)) @ np.eye(TIMES.size) / math.sqrt(2)
    wander = a if steady else a * (white[0] + 1j * white[1])
    noise = 0.01 * (white[1] + 1j * white[0])
    z = np.exp(2j * np.pi * blocks.harmonics[:, None] * turn) * (wander + noise)
    told = replace(blocks, z=z, noise=np.array([1e-4, 1e-4]))
    line, loglik = line_of(told, TRUTH, a)
    end = float(COHERENCE_GRID_S[-1] if steady else COHERENCE_GRID_S[0])
    assert line.coherence_s == end
    assert loglik == pytest.approx(_loglik(told, TRUTH, TRUTH, Line(end, line.power)), rel=1e-9)
