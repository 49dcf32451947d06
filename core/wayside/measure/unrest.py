"""Covariance of the source phase's own unrest, and the fit under it.

Seven kinds of unrest, each switched on only when the data ask for it: *walk*, a random walk of
phase (a line of Lorentzian shape); *wobble*, a slow modulation of the source's frequency that
fades over a correlation time; *waver*, a speed that is not quite constant, felt through the
place the source has got to (none at the passing itself); *weave*, a track that is not quite
straight, felt most at the passing (Matérn 7/2 in time: four integrations lead from a rider's
hands to the place); *sway*, a phase error that stays bounded; *echo*, one that depends on where
the source is, as interference with the reflection from the ground does: the path difference goes
with 1/r (Matérn 5/2 in d/r); *jitter*, one that is another from block to block, as a sound
coder's noise makes it. Sizes maximise the restricted likelihood (Patterson and Thompson 1971,
*Biometrika* 58, 545), see `wayside.measure.unrestsize`.

Where the speed wavers, the speed given is the mean over two crossing times d/v to either side
of the passing; what the waver added to it just then is predicted from the phases with it
(best linear unbiased prediction; Robinson 1991, *Statist. Sci.* 6, 15).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError
from scipy.linalg.lapack import dpotrf, dpotrs, dtrtrs

from wayside.measure.pairs import Pairs

FloatArray = npt.NDArray[np.float64]

# the speed that is stated is the mean over so many crossing times to either side of the passing
MEAN_OVER = 2.0
# a mean speed further off than so many standard deviations is not predicted but invented
MOST_WAVER = 4.0
# the phase of a sum of two waves is at most a quarter of a cycle off that of the stronger
MOST_BOUNDED = 0.25


@dataclass(frozen=True)
class Unrest:
    """Size of each component; zero means switched off.

    Parameters
    ----------
    walk : float
        Variance rate (cycles^2/s).
    wobble_hz, wobble_s : float
        Standard deviation (Hz) and correlation time (s) of the frequency.
    waver, waver_s : float
        Standard deviation of the speed as a fraction of it, and its correlation time (s).
    weave_m, weave_s : float
        Standard deviation of the place across the track (m), and its correlation time (s).
    sway, sway_s : float
        Standard deviation (cycles) and correlation time (s) of the bounded phase error.
    echo, echo_span : float
        Standard deviation (cycles) of the phase error that goes with the place, and how far
        d/r changes until it is another.
    jitter : float
        Power density of a phase error that is another at every moment (cycles^2 s).
    """

    walk: float = 0.0
    wobble_hz: float = 0.0
    wobble_s: float = 0.3
    waver: float = 0.0
    waver_s: float = 1.0
    weave_m: float = 0.0
    weave_s: float = 0.5
    sway: float = 0.0
    sway_s: float = 0.2
    echo: float = 0.0
    echo_span: float = 0.3
    jitter: float = 0.0

    @classmethod
    def forgetting(cls, coherence_s: float) -> Unrest:
        """Return the walk of a source with that coherence time (s)."""
        return cls(walk=1.0 / (2.0 * np.pi**2 * coherence_s))

    @property
    def coherence_s(self) -> float:
        """Coherence time of the fundamental (s): exp(-t/Tc) decay of its phase memory."""
        return 1.0 / (2.0 * np.pi**2 * self.walk) if self.walk > 0 else float("inf")

    @property
    def any(self) -> bool:
        """True when some component is on."""
        return self.lasting or self.jitter > 0

    @property
    def lasting(self) -> bool:
        """True when a component is on that one moment shares with the next."""
        return max(self.walk, self.wobble_hz, self.waver, self.weave_m, self.sway, self.echo) > 0


QUIET = Unrest()


@dataclass(frozen=True)
class LinearData:
    """A linear model of the phase left over.

    Parameters
    ----------
    times_s, cycles, noise : ndarray, shape (n,)
        Times (s), phase (cycles), noise variance (cycles^2).
    design : ndarray, shape (n, m)
        Columns for the scaled parameters, last one the constant.
    prior_rows : ndarray, shape (q, m)
        Prior knowledge as pseudo-observations: rows of the design.
    prior_values, prior_u : ndarray, shape (q,)
        Their values and standard uncertainties.
    since_s, lever : ndarray, shape (n,)
        Emission times since the passing (s), and the phase (cycles) that being ahead by a
        second's way makes there.
    aside : ndarray, shape (n,)
        The phase (cycles) that being a metre farther across the track makes there.
    nearness : ndarray, shape (n,)
        Closest distance over distance, d/r.
    reach_s : float
        The speed is the mean over this long either side of the passing (s).
    speed_columns : tuple of int
        Columns of the design that the mean speed moves along with.
    tied : bool
        The source's pitch follows its speed.
    ridden : bool
        It is expected to keep neither line nor speed, as what a rider carries.
    """

    times_s: FloatArray
    cycles: FloatArray
    noise: FloatArray
    design: FloatArray
    prior_rows: FloatArray
    prior_values: FloatArray
    prior_u: FloatArray
    since_s: FloatArray
    lever: FloatArray
    aside: FloatArray
    nearness: FloatArray
    reach_s: float
    speed_columns: tuple[int, ...]
    tied: bool
    ridden: bool = False

    @cached_property
    def gap_s(self) -> float:
        """Length of a block (s)."""
        return float(np.median(np.diff(self.times_s)))

    @cached_property
    def since_start_s(self) -> FloatArray:
        """Time since the first block began, to the middle of each, shape (n,) (s)."""
        return np.asarray(self.times_s - self.times_s[0] + 0.5 * self.gap_s)

    @cached_property
    def lag_s(self) -> Pairs:
        """Times between blocks (s)."""
        return Pairs.of(self.since_start_s)

    @cached_property
    def emitted_lag_s(self) -> Pairs:
        """Times between what was emitted (s)."""
        return Pairs.of(self.since_s)

    @cached_property
    def earlier_s(self) -> FloatArray:
        """Time since the start at the earlier of two blocks, shape (n, n) (s)."""
        return np.minimum(self.since_start_s[:, None], self.since_start_s[None, :])

    @cached_property
    def apart(self) -> Pairs:
        """Differences of nearness."""
        return Pairs.of(self.nearness)

    @cached_property
    def stack(self) -> FloatArray:
        """The design and the phase beside it, shape (n, m + 1)."""
        return np.column_stack([self.design, self.cycles])


@dataclass(frozen=True)
class LinearFit:
    """Generalised least squares result; the constant comes last."""

    step: FloatArray
    covariance: FloatArray
    loglik: float


@dataclass(frozen=True)
class Mean:
    """What a wavering speed adds to the mean speed about the passing.

    Parameters
    ----------
    ahead : float
        Fraction of the speed.
    covariance : ndarray, shape (m, m)
        Of the scaled parameters with the mean speed in place of the speed.
    """

    ahead: float
    covariance: FloatArray


def covariance_of(data: LinearData, unrest: Unrest) -> FloatArray:
    """Return the covariance of the phase, shape (n, n) (cycles^2)."""
    gap, low = data.gap_s, data.earlier_s
    v = unrest.walk * low
    if unrest.wobble_hz > 0:
        # the integral of a frequency with exponential covariance
        tau = unrest.wobble_s
        e = np.exp(-data.since_start_s / tau)
        v = v + (unrest.wobble_hz * tau) ** 2 * (
            2.0 * low / tau
            - 1.0
            + e[:, None]
            + e[None, :]
            - data.lag_s.spread(np.exp(-data.lag_s.distances / tau))
        )
    if unrest.waver > 0:
        alone, lag = way_variance(data.since_s, unrest), data.emitted_lag_s
        way = _shared(alone, alone, lag.spread(way_variance(lag.distances, unrest)))
        v = v + data.lever[:, None] * way * data.lever[None, :]
    if unrest.weave_m > 0:
        lag = data.emitted_lag_s
        place = lag.spread(unrest.weave_m**2 * smoother(lag.distances / unrest.weave_s))
        v = v + data.aside[:, None] * place * data.aside[None, :]
    if unrest.sway > 0:
        lag = data.lag_s
        v = v + lag.spread(unrest.sway**2 * smooth(lag.distances / unrest.sway_s))
    if unrest.echo > 0:
        apart = data.apart
        v = v + apart.spread(unrest.echo**2 * smooth(apart.distances / unrest.echo_span))
    # each phase is a mean over its block, whose walk is a sixth of a block less spread out
    _diagonal(v)[:] += data.noise - unrest.walk * gap / 6.0 + unrest.jitter / gap
    return np.asarray(v)


def _diagonal(v: FloatArray) -> FloatArray:
    """Return a view of the diagonal that can be written to, shape (n,)."""
    return v.reshape(-1)[:: v.shape[0] + 1]


def smooth(lag: FloatArray) -> FloatArray:
    """Return the Matérn 5/2 correlation at lags in units of the correlation time."""
    h = np.sqrt(5.0) * lag
    return np.asarray((1.0 + h + h * h / 3.0) * np.exp(-h))


def smoother(lag: FloatArray) -> FloatArray:
    """Return the Matérn 7/2 correlation at lags in units of the correlation time."""
    h = np.sqrt(7.0) * lag
    return np.asarray((1.0 + h * (1.0 + h * (0.4 + h / 15.0))) * np.exp(-h))


def way_variance(lag_s: FloatArray, unrest: Unrest) -> FloatArray:
    """Return the variance of the way gained in `lag_s` (in seconds' ways, squared).

    The speed has the covariance (1 + a t) exp(-a t) (Matérn 3/2: forces may jump, the speed
    may not), integrated twice.
    """
    a = np.sqrt(3.0) / unrest.waver_s
    h = np.abs(lag_s)
    grown = 2.0 * h / a - 3.0 / a**2 + np.exp(-a * h) * (3.0 / a**2 + h / a)
    return np.asarray(2.0 * unrest.waver**2 * grown)


def way_covariance(one_s: FloatArray, other_s: FloatArray, unrest: Unrest) -> FloatArray:
    """Return the covariance of the way gained since the passing, shape (n_one, n_other)."""
    between = way_variance(one_s[:, None] - other_s[None, :], unrest)
    return _shared(way_variance(one_s, unrest), way_variance(other_s, unrest), between)


def _shared(one: FloatArray, other: FloatArray, between: FloatArray) -> FloatArray:
    """Return a covariance from the variances of both and of the way between, (n_one, n_other)."""
    return np.asarray(0.5 * (one[:, None] + other[None, :] - between))


def mean_speed(data: LinearData, unrest: Unrest, fit: LinearFit) -> Mean:
    """Predict how much the waver adds to the mean speed about the passing."""
    if unrest.waver == 0 or not data.speed_columns:
        return Mean(0.0, fit.covariance)
    ends = np.array([-data.reach_s, data.reach_s])
    way = way_covariance(ends, data.since_s, unrest)
    shared = data.lever * (way[1] - way[0]) / (2.0 * data.reach_s)
    variance = float(way_variance(np.array(2.0 * data.reach_s), unrest)) / (2.0 * data.reach_s) ** 2
    root = root_of(covariance_of(data, unrest))
    stack = np.column_stack([data.design, data.cycles - data.design @ fit.step, shared])
    white = _solved(root, stack)
    pull = white[:, -1]
    rest = float(variance - pull @ pull)
    change = np.eye(fit.covariance.shape[0])
    for column in data.speed_columns:
        change[column] -= pull @ white[:, :-2]
    covariance = change @ fit.covariance @ change.T
    where = np.ix_(data.speed_columns, data.speed_columns)
    covariance[where] += max(rest, 0.0)
    ahead = float(
        np.clip(pull @ white[:, -2], -MOST_WAVER * unrest.waver, MOST_WAVER * unrest.waver)
    )
    return Mean(ahead, covariance)


def least_squares(data: LinearData, unrest: Unrest) -> LinearFit:
    """Solve the linear model under the given unrest."""
    if unrest.any:
        root = root_of(covariance_of(data, unrest))
        white = _solved(root, data.stack)
        logdet = 2.0 * float(np.sum(np.log(root.diagonal())))
    else:
        sd = np.sqrt(data.noise)[:, None]
        white = data.stack / sd
        logdet = 2.0 * float(np.sum(np.log(sd)))
    u = data.prior_u[:, None]
    a = np.vstack([white[:, :-1], data.prior_rows / u])
    b = np.concatenate([white[:, -1], data.prior_values / data.prior_u])
    logdet += 2.0 * float(np.sum(np.log(data.prior_u)))
    normal = a.T @ a
    factor = normal_root(normal)
    step = dpotrs(factor, a.T @ b, lower=1)[0]
    rest = b - a @ step
    logdet += 2.0 * float(np.sum(np.log(factor.diagonal())))
    covariance = dpotrs(factor, np.eye(normal.shape[0]), lower=1)[0]
    return LinearFit(step, covariance, -0.5 * (float(rest @ rest) + logdet))


def normal_root(normal: FloatArray) -> FloatArray:
    """Return the lower Cholesky factor of normal equations."""
    if not np.all(np.isfinite(normal)):
        raise LinAlgError("the phase or its derivatives are not finite")
    # called thousands of times a recording: the routine itself, without what surrounds it
    factor, failed = dpotrf(normal, lower=1, clean=1)
    if failed:
        raise LinAlgError("the phase does not tell the parameters apart")
    return np.asarray(factor)


def root_of(v: FloatArray) -> FloatArray:
    """Return the lower Cholesky factor, with a touch of noise where rounding needs it."""
    for touch in (0.0, 1e-10, 1e-7):
        diagonal = _diagonal(v)
        diagonal += touch * float(np.mean(diagonal))
        root, failed = dpotrf(v, lower=1, clean=1)
        if not failed:
            return np.asarray(root)
    raise LinAlgError("the phase covariance is not positive definite")


def _solved(root: FloatArray, rows: FloatArray) -> FloatArray:
    """Return what a lower triangular matrix makes `rows` of, shape (n, m)."""
    white, failed = dtrtrs(root, rows, lower=1)
    if failed:
        raise LinAlgError("the phase covariance is not positive definite")
    return np.asarray(white)
