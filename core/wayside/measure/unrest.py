"""Covariance of the source phase's own unrest, and its size by restricted likelihood.

Three kinds of unrest, all in cycles of the fundamental, each switched on only when the data
ask for it: *walk*, a random walk of phase (a line of Lorentzian shape); *wobble*, a slow
frequency modulation that fades over a correlation time (a speed that wavers); *sway*, a phase
error that stays bounded (echoes, a comb filter from the ground). Sizes maximise the restricted
likelihood (Patterson and Thompson 1971, *Biometrika* 58, 545).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.linalg import LinAlgError, cho_solve, cholesky, solve_triangular
from scipy.optimize import minimize

from wayside.jobs import QUIET as IDLE
from wayside.jobs import Job

FloatArray = npt.NDArray[np.float64]

# a component must buy this many nats of likelihood
PRICE = 4.0
FASTEST_WOBBLE_S = 0.15
WORST = 1e12
# adjusting a component has been seen to gain a few nats over its best rough guess
HOPE = 6.0


@dataclass(frozen=True)
class Unrest:
    """Size of each component; zero means switched off.

    Parameters
    ----------
    walk : float
        Variance rate (cycles^2/s).
    wobble_hz, wobble_s : float
        Standard deviation (Hz) and correlation time (s) of the frequency.
    sway, sway_s : float
        Standard deviation (cycles) and correlation time (s) of the bounded phase error.
    """

    walk: float = 0.0
    wobble_hz: float = 0.0
    wobble_s: float = 0.3
    sway: float = 0.0
    sway_s: float = 0.2

    @property
    def coherence_s(self) -> float:
        """Coherence time of the fundamental (s): exp(-t/Tc) decay of its phase memory."""
        return 1.0 / (2.0 * np.pi**2 * self.walk) if self.walk > 0 else float("inf")

    @property
    def any(self) -> bool:
        """True when some component is on."""
        return self.walk > 0 or self.wobble_hz > 0 or self.sway > 0


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
    """

    times_s: FloatArray
    cycles: FloatArray
    noise: FloatArray
    design: FloatArray
    prior_rows: FloatArray
    prior_values: FloatArray
    prior_u: FloatArray


@dataclass(frozen=True)
class LinearFit:
    """Generalised least squares result; the constant comes last."""

    step: FloatArray
    covariance: FloatArray
    loglik: float


def covariance_of(data: LinearData, unrest: Unrest) -> FloatArray:
    """Return the covariance of the phase, shape (n, n) (cycles^2)."""
    gap = float(np.median(np.diff(data.times_s)))
    since = data.times_s - data.times_s[0] + 0.5 * gap
    lag = np.abs(since[:, None] - since[None, :])
    low = np.minimum(since[:, None], since[None, :])
    v = unrest.walk * low
    if unrest.wobble_hz > 0:
        # the integral of a frequency with exponential covariance
        tau = unrest.wobble_s
        e = np.exp(-since / tau)
        v = v + (unrest.wobble_hz * tau) ** 2 * (
            2.0 * low / tau - 1.0 + e[:, None] + e[None, :] - np.exp(-lag / tau)
        )
    if unrest.sway > 0:
        v = v + unrest.sway**2 * np.exp(-lag / unrest.sway_s)
    # each phase is a mean over its block, whose walk is a sixth of a block less spread out
    v[np.diag_indices_from(v)] += data.noise - unrest.walk * gap / 6.0
    return np.asarray(v)


def least_squares(data: LinearData, unrest: Unrest) -> LinearFit:
    """Solve the linear model under the given unrest."""
    if unrest.any:
        root = _root(covariance_of(data, unrest))
        stack = np.column_stack([data.design, data.cycles])
        white = solve_triangular(root, stack, lower=True, check_finite=False)
        logdet = 2.0 * float(np.sum(np.log(np.diag(root))))
    else:
        sd = np.sqrt(data.noise)[:, None]
        white = np.column_stack([data.design, data.cycles]) / sd
        logdet = 2.0 * float(np.sum(np.log(sd)))
    u = data.prior_u[:, None]
    a = np.vstack([white[:, :-1], data.prior_rows / u])
    b = np.concatenate([white[:, -1], data.prior_values / data.prior_u])
    logdet += 2.0 * float(np.sum(np.log(data.prior_u)))
    normal = a.T @ a
    factor = cholesky(normal, lower=True)
    step = cho_solve((factor, True), a.T @ b)
    rest = b - a @ step
    logdet += 2.0 * float(np.sum(np.log(np.diag(factor))))
    covariance = cho_solve((factor, True), np.eye(normal.shape[0]))
    return LinearFit(step, covariance, -0.5 * (float(rest @ rest) + logdet))


def _root(v: FloatArray) -> FloatArray:
    """Return the lower Cholesky factor, with a touch of noise where rounding needs it."""
    for touch in (0.0, 1e-10, 1e-7):
        try:
            v[np.diag_indices_from(v)] += touch * float(np.mean(np.diag(v)))
            return np.asarray(cholesky(v, lower=True, check_finite=False))
        except LinAlgError:
            continue
    raise LinAlgError("the phase covariance is not positive definite")


def estimate(data: LinearData, start: Unrest | None = None, job: Job = IDLE) -> Unrest:
    """Return the unrest the data ask for, components let in one by one.

    With `start`, its components are only adjusted.
    """
    if start is not None:
        return _adjusted(data, start, job) if start.any else start
    best, value = QUIET, least_squares(data, QUIET).loglik
    options = _openings(data)
    for _ in range(2):
        trials = []
        for kind, guesses in options.items():
            if _on(best, kind):
                continue
            values = [_value(data, replace(best, **guess)) for guess in guesses]
            price = PRICE if kind == "walk" else PRICE + 2.0
            if max(values) < value + price - HOPE:
                continue
            trial = _adjusted(data, replace(best, **guesses[int(np.argmax(values))]), job)
            trials.append((_value(data, trial) - price, trial))
        if not trials:
            break
        top = max(trials, key=lambda item: item[0])
        if top[0] <= value:
            break
        value, best = top
    return best


def _openings(data: LinearData) -> dict[str, list[dict[str, float]]]:
    quiet = float(np.median(data.noise))
    return {
        "walk": [{"walk": 10.0**e} for e in (-7, -5, -4, -3, -2, -1, 0)],
        "wobble": [
            {"wobble_hz": 10.0**e, "wobble_s": tau}
            for e, tau in itertools.product((-2, -1, 0), (0.25, 1.0))
        ],
        "sway": [
            {"sway": s, "sway_s": tau}
            for s, tau in itertools.product((np.sqrt(quiet), 0.003, 0.03), (0.05, 0.25))
        ],
    }


def _on(unrest: Unrest, kind: str) -> bool:
    return {"walk": unrest.walk, "wobble": unrest.wobble_hz, "sway": unrest.sway}[kind] > 0


def _value(data: LinearData, unrest: Unrest) -> float:
    try:
        return least_squares(data, unrest).loglik - _pull(unrest)
    except LinAlgError:
        return -WORST


def _pull(unrest: Unrest) -> float:
    """Hold correlation times the data do not decide near half a second (and a fifth)."""
    total = 0.0
    if unrest.wobble_hz > 0:
        total += 0.5 * float(np.log(unrest.wobble_s / 0.5) / 0.8) ** 2
    if unrest.sway > 0:
        total += 0.5 * float(np.log(unrest.sway_s / 0.15) / 0.8) ** 2
    return total


def _adjusted(data: LinearData, start: Unrest, job: Job) -> Unrest:
    names = ["walk"] if start.walk > 0 else []
    names += ["wobble_hz", "wobble_s"] if start.wobble_hz > 0 else []
    names += ["sway", "sway_s"] if start.sway > 0 else []

    def unpack(h: FloatArray) -> Unrest:
        values = np.exp(np.clip(h, -25.0, 8.0))
        found = {n: float(x) for n, x in zip(names, values, strict=True)}
        if "wobble_s" in found:
            # faster than this it is a walk by another name
            found["wobble_s"] = max(found["wobble_s"], FASTEST_WOBBLE_S)
        return replace(start, **found)

    first = np.log([getattr(start, n) for n in names])
    simplex = np.vstack([first, *(first + 0.7 * np.eye(len(names)))])

    def cost(h: FloatArray) -> float:
        job.check()
        return -_value(data, unpack(h))

    found = minimize(
        cost,
        first,
        method="Nelder-Mead",
        options={
            "maxfev": 22 * len(names),
            "xatol": 0.08,
            "fatol": 0.05,
            "initial_simplex": simplex,
        },
    )
    return unpack(found.x)
