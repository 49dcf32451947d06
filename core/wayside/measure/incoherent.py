"""Fit of a source whose phase wanders: Gaussian likelihood with a Lorentzian line.

In the source's frame each harmonic's envelope is modelled as a complex Gaussian process of
covariance ``P_k a(t) a(t') exp(-|t - t'|/Tc)`` plus white noise, a line of Lorentzian shape
whose coherence time is Tc (Ornstein-Uhlenbeck; Priestley 1981, 3.7). The likelihood weighs
loud and faint stretches as their wander and noise deserve, without unwrapping any phase. Its
parameters are improved by Fisher scoring. The line of a real source is only nearly Gaussian
and its harmonics wander together, so the covariance is widened by what the scores of
successive blocks show (quasi-likelihood; White 1982, *Econometrica* 50, 1; neighbouring
blocks allowed to be related as in Newey and West 1987, *Econometrica* 55, 703).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import cho_factor, cho_solve, solve_triangular

from wayside.measure.demod import Blocks
from wayside.measure.ladder import TWO_PI, moved, scale_of
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import Priors
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
COHERENCE_GRID_S = np.geomspace(0.01, 30.0, 15)


@dataclass(frozen=True)
class Line:
    """Hyperparameters of the envelopes.

    Parameters
    ----------
    coherence_s : float
        Coherence time Tc of the fundamental (s); that of harmonic k is Tc/k^2.
    power : ndarray, shape (n_harmonics,)
        Envelope power P_k at the closest point.
    """

    coherence_s: float
    power: FloatArray


@dataclass(frozen=True)
class WanderFit:
    """Result of the fit.

    Parameters
    ----------
    passby : PassBy
    covariance : ndarray, shape (n_free, n_free)
        Of the free parameters, in SI units (speed of sound held).
    line : Line
    loglik : float
        Log-likelihood at the maximum (nats), up to a constant of the data.
    """

    passby: PassBy
    covariance: FloatArray
    line: Line
    loglik: float


@dataclass(frozen=True)
class _Factor:
    root: FloatArray  # lower Cholesky factor of C
    hadamard: FloatArray  # C * C^-1 - I
    logdet: float


def _factors(blocks: Blocks, profile: FloatArray, line: Line, full: bool) -> list[_Factor]:
    lag = np.abs(blocks.times_s[:, None] - blocks.times_s[None, :])
    outer = np.outer(profile, profile)
    out = []
    for k, power, noise in zip(blocks.harmonics, line.power, blocks.noise, strict=True):
        # a wander of the source's phase shows k times over in harmonic k
        c = power * outer * np.exp(lag * (-float(k * k) / line.coherence_s))
        c[np.diag_indices_from(c)] += noise
        root, _ = cho_factor(c, lower=True, check_finite=False)
        root = np.tril(root)
        had = np.empty((0, 0))
        if full:
            inverse = cho_solve((root, True), np.eye(c.shape[0]), check_finite=False)
            had = c * inverse
            had[np.diag_indices_from(had)] -= 1.0
        out.append(_Factor(root, had, 2.0 * float(np.sum(np.log(np.diag(root))))))
    return out


def _turned(blocks: Blocks, p: PassBy) -> tuple[npt.NDArray[np.complex128], FloatArray]:
    model = phase_model(p, blocks.times_s)
    return blocks.turned(model.cycles), model.jacobian * scale_of(p)


def _loglik(y: npt.NDArray[np.complex128], factors: list[_Factor]) -> float:
    total = 0.0
    for row, f in zip(y, factors, strict=True):
        e = solve_triangular(f.root, row, lower=True, check_finite=False)
        total -= float(np.sum(np.abs(e) ** 2)) + f.logdet
    return float(total)


def _scores(
    blocks: Blocks, p: PassBy, factors: list[_Factor], free: tuple[int, ...]
) -> tuple[FloatArray, FloatArray, float]:
    """Return block scores (n_blocks, n_free), Fisher matrix and log-likelihood at `p`."""
    y, jac = _turned(blocks, p)
    jac = jac[:, list(free)]
    scores = np.zeros((blocks.times_s.size, len(free)))
    fisher = np.zeros((len(free), len(free)))
    loglik = 0.0
    for row, k, f in zip(y, blocks.harmonics, factors, strict=True):
        stack = np.column_stack([row, (-1j * TWO_PI * k) * jac * row[:, None]])
        white = solve_triangular(f.root, stack, lower=True, check_finite=False)
        scores -= 2.0 * np.real(np.conj(white[:, :1]) * white[:, 1:])
        fisher += 2.0 * (TWO_PI * k) ** 2 * (jac.T @ f.hadamard @ jac)
        loglik -= float(np.sum(np.abs(white[:, 0]) ** 2)) + f.logdet
    return scores, fisher, loglik


def line_of(blocks: Blocks, p: PassBy, profile: FloatArray) -> tuple[Line, float]:
    """Return the coherence time and powers most likely at `p`, and the log-likelihood."""
    y, _ = _turned(blocks, p)
    power = np.maximum(
        (np.mean(np.abs(y) ** 2, axis=1) - blocks.noise) / np.mean(profile**2),
        1e-3 * blocks.noise,
    )
    best: tuple[float, Line] | None = None
    values = []
    for coherence in COHERENCE_GRID_S:
        line = Line(float(coherence), power)
        value = _loglik(y, _factors(blocks, profile, line, False))
        values.append(value)
        if best is None or value > best[0]:
            best = (value, line)
        elif value < best[0] - 50.0:
            break
    assert best is not None
    i = int(np.argmax(values))
    if 0 < i < len(values) - 1:
        low, mid, high = values[i - 1 : i + 2]
        bend = low - 2.0 * mid + high
        shift = 0.5 * (low - high) / bend if bend < 0 else 0.0
        ratio = COHERENCE_GRID_S[1] / COHERENCE_GRID_S[0]
        line = Line(float(COHERENCE_GRID_S[i] * ratio**shift), power)
        return line, mid
    return best[1], best[0]


def fit_wandering(
    blocks: Blocks,
    start: PassBy,
    free: tuple[int, ...],
    priors: Priors | None = None,
    rounds: int = 2,
) -> WanderFit:
    """Fit the pass-by and the line width together, from `start`."""
    p = start
    priors = priors or Priors()
    for turn in range(rounds):
        profile = blocks.spread(phase_model(p, blocks.times_s).spread)
        line, _ = line_of(blocks, p, profile)
        factors = _factors(blocks, profile, line, True)
        p, loglik = _score_steps(blocks, p, factors, free, priors, 12 if turn == 0 else 8)
    scores, fisher, loglik = _scores(blocks, p, factors, free)
    known, _, _ = _known(priors, p, free)
    inverse = np.linalg.inv(fisher + known)
    # what the recording itself shows of the scatter, never less than the model expects
    meat = np.maximum(1.0, _excess(scores, fisher)) * fisher + known
    scale = scale_of(p)[list(free)]
    covariance = inverse @ meat @ inverse * np.outer(scale, scale)
    return WanderFit(p, covariance, line, loglik)


def _known(
    priors: Priors, p: PassBy, free: tuple[int, ...]
) -> tuple[FloatArray, FloatArray, float]:
    """Return information, pull and log-density of the prior knowledge at `p`."""
    rows, values, u = priors.rows(p, free)
    a = rows[:, :-1] / u[:, None]
    b = values / u
    return a.T @ a, a.T @ b, -0.5 * float(b @ b)


def _excess(scores: FloatArray, fisher: FloatArray) -> float:
    """Return how much the scores scatter beyond the model's expectation (a factor)."""
    lags = max(1, scores.shape[0] // 40)
    ratio = np.linalg.solve(fisher, related(scores, lags))
    return float(np.trace(ratio) / fisher.shape[0])


def _score_steps(
    blocks: Blocks,
    p: PassBy,
    factors: list[_Factor],
    free: tuple[int, ...],
    priors: Priors,
    steps: int,
) -> tuple[PassBy, float]:
    def state(q: PassBy) -> tuple[FloatArray, FloatArray, float]:
        scores, fisher, loglik = _scores(blocks, q, factors, free)
        information, pull, density = _known(priors, q, free)
        return scores.sum(axis=0) + pull, fisher + information, loglik + density

    score, fisher, loglik = state(p)
    damping = 1e-3
    for _ in range(steps):
        diagonal = np.diag(fisher) + 1e-30
        step: FloatArray = np.asarray(
            np.linalg.solve(fisher + np.diag(damping * diagonal), score), dtype=np.float64
        )
        step = step * min(1.0, 0.3 / max(1e-30, float(np.max(np.abs(step)))))
        trial = moved(p, step, free)
        after = state(trial)
        if after[2] >= loglik:
            p = trial
            rise = after[2] - loglik
            score, fisher, loglik = after
            damping = max(1e-6, damping * 0.2)
            if rise < 1e-3:
                break
        else:
            damping *= 8.0
            if damping > 1e4:
                break
    return p, loglik


def related(scores: FloatArray, lags: int) -> FloatArray:
    """Return the sum of score products with triangular weights up to `lags` blocks apart."""
    meat = scores.T @ scores
    lags = min(lags, scores.shape[0] // 10)
    for lag in range(1, lags + 1):
        cross = scores[lag:].T @ scores[:-lag]
        meat += (1.0 - lag / (lags + 1.0)) * (cross + cross.T)
    return np.asarray(meat)
