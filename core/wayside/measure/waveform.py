"""Maximum likelihood on the samples themselves, for a pass of only a few cycles.

Blocks cannot be shorter than a cycle, or the harmonics would run into one another; a pass of
a few cycles is then only a few blocks long and much of what it says is lost. Here the sound is
modelled sample by sample as a sum of harmonics of the received phase, fading as 1/r, with the
amplitudes solved inside (variable projection; Golub and Pereyra 1973, *SIAM J. Numer. Anal.*
10, 413). Noise that is not white is made so first by a prediction filter from what the fit
leaves over (autoregression by the Yule-Walker equations; Priestley 1981, *Spectral Analysis
and Time Series*, 5.4.1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.linalg import LinAlgError, cho_factor, cho_solve, solve_toeplitz
from scipy.signal import lfilter

from wayside.measure.ladder import CONSTANT, TWO_PI, Rung, Sums, ascend, moved, scale_of
from wayside.measure.loudness import places, score_statistic
from wayside.measure.motion import PhaseModel, phase_model, turns_of
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

ORDER = 16
ROUNDS = 2
NEAR_CROSSINGS = 3.0
# the amplitudes of a pass so brief that its harmonics look alike are held by this much
RIDGE = 1e-9


@dataclass(frozen=True)
class Waveform:
    """Samples to be fitted.

    Parameters
    ----------
    times_s, samples : ndarray, shape (n,)
    harmonics : tuple of int
    whitener : ndarray, shape (m,)
        Prediction filter that makes the noise white.
    variance : float
        Noise variance after it.
    law : ndarray, shape (n,), or float
        By how much the tone is louder than its distance would make it.
    """

    times_s: FloatArray
    samples: FloatArray
    harmonics: tuple[int, ...]
    whitener: FloatArray
    variance: float
    law: FloatArray | float = 1.0

    def climb(self, start: PassBy, free: tuple[int, ...] = CONSTANT, steps: int = 12) -> Rung:
        """Return the maximum of the likelihood near `start`."""
        p, sums = ascend(
            start, lambda q: self.sums_at(q, free), lambda q, step: moved(q, step, free), steps
        )
        return Rung(p, sums.gain, sums.normal, 4 * self.times_s.size)

    def settled(self, start: PassBy) -> tuple[Waveform, Rung]:
        """Return the waveform with its own noise, and the maximum near `start`."""
        wave, p = self.with_noise_at(start), start
        for turn in range(ROUNDS):
            rung = wave.climb(p)
            p = rung.passby
            if turn < ROUNDS - 1:
                wave = wave.with_noise_at(p)
        return wave, rung

    def with_noise_at(self, p: PassBy) -> Waveform:
        """Return the waveform with the noise that `p` leaves over."""
        rest = replace(self, whitener=np.ones(1)).projected(p).rest
        n = rest.size
        lags = np.array([float(rest[: n - k] @ rest[k:]) / n for k in range(ORDER + 1)])
        lags[0] *= 1.0 + 1e-6
        try:
            past = solve_toeplitz(lags[:-1], lags[1:])
        except LinAlgError:
            past = np.zeros(ORDER)
        white = replace(self, whitener=np.concatenate([[1.0], -past]))
        left = white.projected(p).rest
        freedom = max(1, left.size - 2 * len(self.harmonics))
        return replace(white, variance=float(left @ left) / freedom + 1e-300)

    def projected(self, p: PassBy) -> _Projected:
        """Return the fit of the amplitudes at `p`."""
        model = phase_model(p, self.times_s)
        turns = turns_of(model.cycles, self.harmonics)
        waves = np.concatenate([turns.real, turns.imag]) * (model.spread * self.law)
        x, basis = self._white_samples, self._white(waves)
        gram = basis @ basis.T
        gram[np.diag_indices_from(gram)] *= 1.0 + RIDGE
        factor = cho_factor(gram)
        amplitudes = cho_solve(factor, basis @ x)
        return _Projected(model, waves, basis, factor, amplitudes, x, x - amplitudes @ basis)

    @cached_property
    def _white_samples(self) -> FloatArray:
        return self._white(self.samples)

    def _white(self, rows: FloatArray) -> FloatArray:
        return np.asarray(lfilter(self.whitener, [1.0], rows, axis=-1))

    def sums_at(self, p: PassBy, free: tuple[int, ...]) -> Sums:
        """Return likelihood, slope and curvature at `p`, in the scaled parameters."""
        fit = self.projected(p)
        rest = self._moves(p, free, fit)
        half = 0.5 / self.variance
        return Sums(self._gain(fit), half * (rest @ fit.rest), half * (rest @ rest.T))

    def gain_at(self, p: PassBy) -> float:
        """Return the likelihood at `p` (nats)."""
        return self._gain(self.projected(p))

    def _gain(self, fit: _Projected) -> float:
        return 0.5 * float(fit.samples @ fit.samples - fit.rest @ fit.rest) / self.variance

    def _moves(self, p: PassBy, free: tuple[int, ...], fit: _Projected) -> FloatArray:
        """Return what scaled steps do to the modelled sound that amplitudes cannot do."""
        count = len(self.harmonics)
        cos, sin = fit.waves[:count], fit.waves[count:]
        a, b = fit.amplitudes[:count], fit.amplitudes[count:]
        k = TWO_PI * np.array(self.harmonics)
        # derivatives by the phase in cycles, and by the logarithm of the level
        by_phase, by_level = (k * b) @ cos - (k * a) @ sin, fit.amplitudes @ fit.waves
        scale = scale_of(p)[list(free), None]
        moves = fit.model.slopes[list(free)] * scale * by_phase
        moves += fit.model.fading[list(free)] * scale * by_level
        return fit.without_amplitudes(self._white(moves))

    def unexplained(self, p: PassBy) -> float:
        """Return how far the passing itself is left unexplained, in standard deviations.

        A source that wavers leaves over more where it is loud than where it is faint.
        """
        rest = self.projected(p).rest ** 2
        near = np.abs(self.times_s - p.passing_time_s) < NEAR_CROSSINGS * p.closest_m / p.speed_mps
        count = int(np.count_nonzero(near))
        if count < 8 or count > rest.size // 2:
            return 0.0
        ratio = float(np.mean(rest[near]) / np.mean(rest[~near]))
        return (ratio - 1.0) * math.sqrt(count / 2.0)

    def departure(self, rung: Rung) -> float:
        """Return the score statistic of departures of the level from 1/r at a fit.

        See `wayside.measure.loudness`.
        """
        p = rung.passby
        fit = self.projected(p)
        moves = self._moves(p, CONSTANT, fit)
        shapes = places(p, self.times_s) * (fit.amplitudes @ fit.waves)
        shapes = fit.without_amplitudes(self._white(shapes))
        half = 0.5 / self.variance
        return score_statistic(
            half * (shapes @ fit.rest),
            half * (moves @ moves.T),
            half * (moves @ shapes.T),
            half * (shapes @ shapes.T),
        )


@dataclass(frozen=True)
class _Projected:
    model: PhaseModel
    waves: FloatArray  # (2 n_harmonics, n): cosines, then sines, as heard
    basis: FloatArray  # the same, whitened
    factor: tuple[FloatArray, bool]
    amplitudes: FloatArray  # (2 n_harmonics,)
    samples: FloatArray  # whitened
    rest: FloatArray  # what the harmonics leave over

    def without_amplitudes(self, rows: FloatArray) -> FloatArray:
        """Return rows less what changed amplitudes could do in their place."""
        held = cho_solve(self.factor, self.basis @ rows.T)
        return np.asarray(rows - held.T @ self.basis)
