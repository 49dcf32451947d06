"""Generalised least squares of a pass-by on the source's phase.

Phase left over = (derivatives) x (parameter changes) + constant + unrest + noise, relinearised
until the parameters stand still. Prior knowledge (a taped distance, known treads per metre,
how riders coast) enters as pseudo-observations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.measure.demod import Blocks
from wayside.measure.ladder import moved, scale_of
from wayside.measure.motion import phase_model
from wayside.measure.phases import PhaseTrack, track_phase
from wayside.measure.unrest import LinearData, LinearFit, Unrest, estimate, least_squares
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
MOST_POINTS = 180
ROUNDS = 8
USUAL_CLOSEST_M, USUAL_SPEED_MPS, USUAL_SPREAD = 2.5, 7.0, 0.9


@dataclass(frozen=True)
class Priors:
    """What is known beforehand: (value, standard uncertainty) each, or None.

    Parameters
    ----------
    closest_m, cycles_per_metre, acceleration_mps2, speed_mps : tuple of float or None
    weak : bool
        Where distance or speed is not known, hold it loosely (a factor of about 2.5 either
        way) at what a staged pass-by has. Matters only where the sound says next to nothing.
    """

    closest_m: tuple[float, float] | None = None
    cycles_per_metre: tuple[float, float] | None = None
    acceleration_mps2: tuple[float, float] | None = None
    speed_mps: tuple[float, float] | None = None
    weak: bool = False

    def rows(self, p: PassBy, free: tuple[int, ...]) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return pseudo-observations (rows, values, u) in scaled steps from `p`."""
        scale = scale_of(p)
        rows, values, u = [], [], []

        def add(columns: dict[int, float], value: float, sd: float) -> None:
            if all(i in free for i in columns):
                row = np.zeros(len(free) + 1)
                for i, weight in columns.items():
                    row[free.index(i)] = weight
                rows.append(row)
                values.append(value)
                u.append(sd)

        if self.closest_m:
            add({2: 1.0}, np.log(self.closest_m[0] / p.closest_m), _relative(self.closest_m))
        elif self.weak:
            add({2: 1.0}, np.log(USUAL_CLOSEST_M / p.closest_m), USUAL_SPREAD)
        if self.speed_mps:
            add({1: 1.0}, np.log(self.speed_mps[0] / p.speed_mps), _relative(self.speed_mps))
        elif self.weak:
            add({1: 1.0}, np.log(USUAL_SPEED_MPS / p.speed_mps), USUAL_SPREAD)
        if self.cycles_per_metre and p.speed_tied:
            now = p.source_hz / p.speed_mps
            known = self.cycles_per_metre
            add({0: 1.0, 1: -1.0}, np.log(known[0] / now), _relative(known))
        if self.acceleration_mps2:
            mean, sd = self.acceleration_mps2
            add({4: 1.0}, (mean - p.acceleration_mps2) / scale[4], sd / scale[4])
        m = len(free) + 1
        return np.array(rows).reshape(-1, m), np.array(values), np.array(u)


def _relative(known: tuple[float, float]) -> float:
    return max(1e-6, known[1] / known[0])


@dataclass(frozen=True)
class PhaseFit:
    """Fit of a pass-by to the phase.

    Parameters
    ----------
    passby : PassBy
    free : tuple of int
        Which of the five parameters were fitted.
    covariance : ndarray, shape (n_free, n_free)
        In SI units, speed of sound held.
    unrest : Unrest
    loglik : float
        Restricted log-likelihood, prior knowledge included (nats).
    track : PhaseTrack
        Phase left after the fit.
    """

    passby: PassBy
    free: tuple[int, ...]
    covariance: FloatArray
    unrest: Unrest
    loglik: float
    track: PhaseTrack


def fit_phase(
    blocks: Blocks,
    start: PassBy,
    free: tuple[int, ...],
    priors: Priors | None = None,
    unrest: Unrest | None = None,
    near: bool = False,
) -> PhaseFit:
    """Fit the free parameters to the phase of `blocks`, from a start within a cycle or so.

    Parameters
    ----------
    blocks : Blocks
    start : PassBy
    free : tuple of int
        Indices into `wayside.measure.motion.NAMES`.
    priors : Priors, optional
    unrest : Unrest, optional
        Hold the unrest at this instead of estimating it.
    near : bool
        The phase stays within a fraction of a cycle of `start` (see `track_phase`).
    """
    p = start
    priors = priors or Priors()
    held = unrest
    for turn in range(ROUNDS):
        track = track_phase(blocks, p, near)
        data = linear_data(track, p, free, priors)
        if held is None and turn == 1:
            unrest = estimate(data)
        elif held is None and turn == 0:
            unrest = Unrest(walk=float(np.exp(np.mean(np.log(_rough_walk(data))))))
        assert unrest is not None
        fit = least_squares(data, unrest)
        step = fit.step[:-1]
        small = float(np.max(np.abs(step)))
        p = moved(p, step * min(1.0, 0.5 / max(small, 1e-30)), free)
        if small < 1e-7 and turn >= 1:
            break
    track = track_phase(blocks, p, near)
    data = linear_data(track, p, free, priors)
    if held is None:
        unrest = estimate(data, unrest)
    assert unrest is not None
    fit = least_squares(data, unrest)
    return _result(p, free, fit, unrest, track)


def _rough_walk(data: LinearData) -> FloatArray:
    """Return a first guess of the walk: squared steps beyond noise, over time."""
    step = np.diff(data.cycles)
    noise = data.noise[1:] + data.noise[:-1]
    gap = np.diff(data.times_s)
    return np.array([max(float(np.median(step**2 / 0.45 - noise) / np.median(gap)), 1e-9)])


def _result(
    p: PassBy, free: tuple[int, ...], fit: LinearFit, unrest: Unrest, track: PhaseTrack
) -> PhaseFit:
    scale = scale_of(p)[list(free)]
    covariance = fit.covariance[:-1, :-1] * np.outer(scale, scale)
    return PhaseFit(p, free, covariance, unrest, fit.loglik, track)


def linear_data(track: PhaseTrack, p: PassBy, free: tuple[int, ...], priors: Priors) -> LinearData:
    """Average neighbouring blocks so that at most `MOST_POINTS` remain, and linearise."""
    jac = phase_model(p, track.times_s).jacobian[:, list(free)] * scale_of(p)[list(free)]
    every = -(-track.times_s.size // MOST_POINTS)
    edges = np.arange(0, track.times_s.size, every)
    weight = 1.0 / track.noise
    total = np.add.reduceat(weight, edges)

    def mean(values: FloatArray) -> FloatArray:
        return np.asarray(np.add.reduceat(values * weight, edges) / total)

    columns = [mean(jac[:, i]) for i in range(len(free))]
    design = np.column_stack([*columns, np.ones(edges.size)])
    rows, values, u = priors.rows(p, free)
    return LinearData(mean(track.times_s), mean(track.cycles), 1.0 / total, design, rows, values, u)
