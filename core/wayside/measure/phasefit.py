"""Generalised least squares of a pass-by on the source's phase.

Phase left over = (derivatives) x (parameter changes) + constant + unrest + noise, relinearised
until the parameters stand still. Prior knowledge (a taped distance, known treads per metre,
how riders coast) enters as pseudo-observations.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.ladder import moved, scale_of
from wayside.measure.mixture import steps_between
from wayside.measure.motion import lever, phase_model
from wayside.measure.options import MeasureOptions
from wayside.measure.phases import Followed, PhaseTrack, track_phase
from wayside.measure.staging import FAST_MPS, RIDER, Usual
from wayside.measure.unrest import (
    MEAN_OVER,
    LinearData,
    Unrest,
    least_squares,
    mean_speed,
)
from wayside.measure.unrestsize import estimate
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]
ALL = (0, 1, 2, 3, 4)
MOST_POINTS, POINTS_EACH = 140, 4
ROUNDS = 12
SETTLED = 0.05
STRAINED = 5.0


@dataclass(frozen=True)
class Priors:
    """What is known beforehand: (value, standard uncertainty) each, or None.

    Parameters
    ----------
    closest_m, cycles_per_metre, acceleration_mps2 : tuple of float or None
    crossing_s, speed_mps : tuple of float or None
        The closest distance over the speed, and that.
    weak : bool
        Hold the speed, and a distance that is not known, loosely at what is usual. Matters
        only where the sound says next to nothing.
    usual : Usual
    strays : bool
        A rider's way is expected to be neither quite straight nor quite even.
    """

    closest_m: tuple[float, float] | None = None
    cycles_per_metre: tuple[float, float] | None = None
    acceleration_mps2: tuple[float, float] | None = None
    weak: bool = False
    crossing_s: tuple[float, float] | None = None
    speed_mps: tuple[float, float] | None = None
    usual: Usual = RIDER
    strays: bool = False

    @classmethod
    def from_options(cls, options: MeasureOptions) -> Priors:
        """Return what the caller of a measurement knows."""

        def pair(q: Quantity | None) -> tuple[float, float] | None:
            return None if q is None else (q.value, q.u)

        return cls(pair(options.closest), pair(options.cycles_per_metre))

    @property
    def likely_closest_m(self) -> float:
        """The closest distance, if it is known, or a usual one."""
        return self.closest_m[0] if self.closest_m else self.usual.closest_m

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
            add({2: 1.0}, np.log(self.usual.closest_m / p.closest_m), self.usual.closest_spread)
        if self.weak:
            add({1: 1.0}, np.log(self.usual.speed_mps / p.speed_mps), self.usual.speed_spread)
        if self.cycles_per_metre and p.speed_tied:
            now = p.source_hz / p.speed_mps
            known = self.cycles_per_metre
            add({0: 1.0, 1: -1.0}, np.log(known[0] / now), _relative(known))
        if self.crossing_s:
            now = p.closest_m / p.speed_mps
            known = self.crossing_s
            add({1: -1.0, 2: 1.0}, np.log(known[0] / now), _relative(known))
        if self.speed_mps:
            add({1: 1.0}, np.log(self.speed_mps[0] / p.speed_mps), _relative(self.speed_mps))
        if self.acceleration_mps2:
            mean, sd = self.acceleration_mps2
            add({4: 1.0}, (mean - p.acceleration_mps2) / scale[4], sd / scale[4])
        m = len(free) + 1
        return np.array(rows).reshape(-1, m), np.array(values), np.array(u)


def _relative(known: tuple[float, float]) -> float:
    return max(1e-6, known[1] / known[0])


@dataclass(frozen=True)
class Beside:
    """Other things that turn the phase, each known to be zero to within its uncertainty.

    Parameters
    ----------
    columns : ndarray, shape (n_blocks, m)
        What a unit of each does to the phase of the fundamental (cycles).
    u : ndarray, shape (m,)
        How far each is open.
    passby : PassBy
        Where what else turns the phase was worked out and taken off.
    moving : ndarray, shape (n_blocks, 5)
        What else the phase turns by (cycles) a scaled step of each parameter from there.
    """

    columns: FloatArray
    u: FloatArray
    passby: PassBy
    moving: FloatArray

    def and_also(self, columns: FloatArray, u: FloatArray) -> Beside:
        """Return the same with further columns, known to `u` each."""
        both = np.column_stack([self.columns, columns])
        return replace(self, columns=both, u=np.concatenate([self.u, u]))


@dataclass(frozen=True)
class PhaseFit:
    """Fit of a pass-by to the phase.

    Parameters
    ----------
    passby : PassBy
        The fitted curve.
    free : tuple of int
        Which of the five parameters were fitted.
    ahead : float
        What a wavering speed adds to the mean speed about the passing (fraction of it).
    covariance : ndarray, shape (n_free, n_free)
        In SI units, of `mean`, speed of sound held.
    unrest : Unrest
    loglik : float
        Restricted log-likelihood, prior knowledge included (nats).
    track : PhaseTrack
        Phase left after the fit.
    near : bool
        The phase was followed as one that stays within a fraction of a cycle.
    followed : Followed or None
        Where the phase was followed, if not along the fit itself.
    """

    passby: PassBy
    free: tuple[int, ...]
    ahead: float
    covariance: FloatArray
    unrest: Unrest
    loglik: float
    track: PhaseTrack
    near: bool = False
    followed: Followed | None = None

    @property
    def mean(self) -> PassBy:
        """The pass-by at its mean speed about the passing."""
        step = [self.ahead if self.passby.speed_tied else 0.0, self.ahead]
        return moved(self.passby, np.array(step), (0, 1))


def fit_phase(
    blocks: Blocks,
    start: PassBy,
    free: tuple[int, ...],
    priors: Priors | None = None,
    unrest: Unrest | None = None,
    near: bool = False,
    job: Job = QUIET,
    begin: Unrest | None = None,
    beside: Beside | None = None,
    followed: Followed | None = None,
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
    job : Job
    begin : Unrest, optional
        Adjust this unrest instead of asking which the data need; the waver of a wheel stays.
    beside : Beside, optional
        What else may turn the phase, in every block.
    followed : Followed, optional
        Take the phase from there instead of following it along the fit.
    """
    priors = priors or Priors()
    best = _fitted(blocks, start, free, priors, unrest, near, job, begin, beside, followed)
    if near or priors.crossing_s or tension(priors, best.passby, free) < STRAINED:
        return best
    # a fit at odds with what is known beforehand may sit in a side maximum
    for other in _other_starts(priors, start):
        fit = _fitted(blocks, other, free, priors, unrest, near, job, begin, beside, followed)
        if fit.loglik > best.loglik:
            best = fit
    return best


def tension(priors: Priors, p: PassBy, free: tuple[int, ...]) -> float:
    """Return the squared distance of `p` from the prior knowledge, in its own units."""
    _, values, u = priors.rows(p, free)
    return float(np.sum((values / u) ** 2))


def one_step(blocks: Blocks, fit: PhaseFit, start: PassBy, priors: Priors) -> PassBy:
    """Return `start` after one linear step under the unrest of an earlier fit."""
    track = track_phase(blocks, start, fit.near)
    data = linear_data(track, start, fit.free, priors)
    return moved(start, least_squares(data, fit.unrest).step[:-1], fit.free)


def _other_starts(priors: Priors, start: PassBy) -> list[PassBy]:
    distance = priors.likely_closest_m
    crossing = start.closest_m / start.speed_mps
    by_time = float(np.clip(distance / crossing, 1.0, 30.0))
    speeds = (by_time, priors.usual.speed_mps)
    return [start.with_(closest_m=distance, speed_mps=v) for v in speeds]


def _fitted(
    blocks: Blocks,
    start: PassBy,
    free: tuple[int, ...],
    priors: Priors,
    unrest: Unrest | None,
    near: bool,
    job: Job,
    begin: Unrest | None,
    beside: Beside | None,
    followed: Followed | None,
) -> PhaseFit:
    def heard(p: PassBy) -> PhaseTrack:
        return track_phase(blocks, p, near) if followed is None else followed.along(p)

    count = len(free)
    p, held = start, unrest
    unrest = held or begin
    for turn in range(ROUNDS):
        job.check()
        track = heard(p)
        data = linear_data(track, p, free, priors, beside)
        if held is None and turn == 1:
            unrest = estimate(data, begin, job)
        elif unrest is None:
            unrest = Unrest(walk=_rough_walk(data))
        assert unrest is not None
        fit = least_squares(data, unrest)
        step = fit.step[:count]
        p = moved(p, step * min(1.0, 0.5 / max(float(np.max(np.abs(step))), 1e-30)), free)
        settled = np.max(np.abs(step) / np.sqrt(np.diag(fit.covariance)[:count])) < SETTLED
        if settled and turn >= 1:
            break
    track = heard(p)
    data = linear_data(track, p, free, priors, beside)
    if held is None:
        unrest = estimate(data, unrest, job)
    assert unrest is not None
    fit = least_squares(data, unrest)
    step = fit.step[:count]
    if float(np.max(np.abs(step))) < 0.2:
        p = moved(p, step, free)
    mean = mean_speed(data, unrest, fit)
    scale = scale_of(p)[list(free)]
    covariance = mean.covariance[:count, :count] * np.outer(scale, scale)
    return PhaseFit(p, free, mean.ahead, covariance, unrest, fit.loglik, track, near, followed)


def _rough_walk(data: LinearData) -> float:
    """Return a first guess of the walk: squared steps beyond noise, over time."""
    step = np.diff(data.cycles)
    noise = data.noise[1:] + data.noise[:-1]
    gap = np.diff(data.times_s)
    return max(float(np.median(step**2 / 0.45 - noise) / np.median(gap)), 1e-9)


def linear_data(
    track: PhaseTrack,
    p: PassBy,
    free: tuple[int, ...],
    priors: Priors,
    beside: Beside | None = None,
) -> LinearData:
    """Average neighbouring blocks so that few enough remain, and linearise."""
    model = phase_model(p, track.times_s)
    jac = model.jacobian[:, list(free)] * scale_of(p)[list(free)]
    cycles = track.cycles
    if beside is not None:
        jac = jac + beside.moving[:, list(free)]
        cycles = cycles - beside.moving @ steps_between(beside.passby, p, ALL)
    # phases of many pieces, each its own, need points of each
    most = MOST_POINTS if beside is None else max(MOST_POINTS, POINTS_EACH * (beside.u.size + 1))
    every = -(-track.times_s.size // most)
    edges = np.arange(0, track.times_s.size, every)
    weight = 1.0 / track.noise
    total = np.add.reduceat(weight, edges)

    def mean(values: FloatArray) -> FloatArray:
        return np.asarray(np.add.reduceat(values * weight, edges) / total)

    columns = [mean(jac[:, i]) for i in range(len(free))]
    rows, values, u = priors.rows(p, free)
    if beside is not None:
        more = beside.u.size
        columns += [mean(column) for column in beside.columns.T]
        rows = np.insert(rows, [len(free)] * more, 0.0, axis=1)
        open_rows = np.eye(more, rows.shape[1], len(free))
        rows, u = np.vstack([rows, open_rows]), np.concatenate([u, beside.u])
        values = np.concatenate([values, np.zeros(more)])
    design = np.column_stack([*columns, np.ones(edges.size)])
    times = mean(track.times_s)
    since, cycles_per_m = lever(p, times)
    along = (0, 1) if p.speed_tied else (1,)
    return LinearData(
        times,
        mean(cycles),
        1.0 / total,
        design,
        rows,
        values,
        u,
        since,
        cycles_per_m * p.speed_mps,
        mean(model.jacobian[:, 2]),
        mean(model.spread),
        MEAN_OVER * p.closest_m / p.speed_mps,
        tuple(free.index(i) for i in along if i in free),
        p.speed_tied,
        priors.strays and priors.usual is RIDER and p.speed_mps < FAST_MPS,
    )
