"""The restricted likelihood of an unrest, and how it changes with each size and time.

With G = V⁻¹ - W N⁻¹ Wᵀ - a aᵀ, where W = V⁻¹X, N = XᵀW and what is known beforehand, and a = V⁻¹
times what is left over, a change dV of the covariance changes the log-likelihood by -½ Σ G dV
(Patterson and Thompson 1971, *Biometrika* 58, 545).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpotri, dpotrs

from wayside.measure.pairs import Pairs
from wayside.measure.unrest import (
    LinearData,
    Unrest,
    covariance_of,
    normal_root,
    root_of,
    smooth,
    smoother,
    way_variance,
)

FloatArray = npt.NDArray[np.float64]
# the sum of G dV by the logarithm of the size, and by that of the time if there is one
_Grown = Callable[[LinearData, Unrest, FloatArray], tuple[float, ...]]


def likelihood_and_slopes(
    data: LinearData, unrest: Unrest, names: Sequence[str]
) -> tuple[float, FloatArray]:
    """Return the restricted log-likelihood and its slopes.

    Parameters
    ----------
    data : LinearData
    unrest : Unrest
        With at least one component on.
    names : sequence of str
        Of the sizes and times whose slopes are asked for, all of components that are on.

    Returns
    -------
    loglik : float
        As `least_squares` has it.
    slopes : ndarray, shape (len(names),)
        By the natural logarithm of each.

    Raises
    ------
    LinAlgError
        If it cannot be worked out.
    """
    root = root_of(covariance_of(data, unrest))
    inverse = dpotri(root, lower=1)[0]
    below = np.tril(inverse, -1)
    inverse = below + below.T + np.diag(inverse.diagonal())
    white = inverse @ data.stack
    w = white[:, :-1]
    known = data.prior_rows / data.prior_u[:, None]
    values = data.prior_values / data.prior_u
    normal = data.design.T @ w + known.T @ known
    factor = normal_root(normal)
    step = dpotrs(factor, data.design.T @ white[:, -1] + known.T @ values, lower=1)[0]
    rest, off = data.cycles - data.design @ step, values - known @ step
    a = white[:, -1] - w @ step
    halves = (root.diagonal(), factor.diagonal(), data.prior_u)
    logdet = 2.0 * sum(float(np.sum(np.log(half))) for half in halves)
    loglik = -0.5 * (float(rest @ a) + float(off @ off) + logdet)
    g = inverse - w @ dpotrs(factor, w.T, lower=1)[0] - np.outer(a, a)
    grown: dict[str, float] = {}
    for component, of in _COMPONENTS.items():
        if component[0] in names:
            grown.update(zip(component, of(data, unrest, g), strict=True))
    return loglik, np.array([-0.5 * grown[name] for name in names])


def _walk(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float]:
    own = float(np.trace(g)) * data.gap_s / 6.0
    return (unrest.walk * (float(np.vdot(g, data.earlier_s)) - own),)


def _jitter(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float]:
    return (unrest.jitter * float(np.trace(g)) / data.gap_s,)


def _wobble(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float, float]:
    tau, lag, since = unrest.wobble_s, data.lag_s, data.since_start_s
    every, rows = float(np.sum(g)), np.sum(g, axis=1)
    alone, apart = np.exp(-since / tau), np.exp(-lag.distances / tau)
    by_lag = _by_distance(lag, g)
    grown = 2.0 * float(np.vdot(g, data.earlier_s)) / tau
    size = grown - every + 2.0 * float(rows @ alone) - float(by_lag @ apart)
    time = (
        2.0 * float(rows @ (alone * since)) - float(by_lag @ (apart * lag.distances))
    ) / tau - grown
    scale = (unrest.wobble_hz * tau) ** 2
    return 2.0 * scale * size, scale * (2.0 * size + time)


def _waver(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float, float]:
    lag = data.emitted_lag_s
    pulled = data.lever[:, None] * g * data.lever[None, :]
    rows, by_lag = np.sum(pulled, axis=1), _by_distance(lag, pulled)
    alone, apart = (_spread_and_slope(x, unrest) for x in (data.since_s, lag.distances))
    size, time = (
        float(rows @ one) - 0.5 * float(by_lag @ other)
        for one, other in zip(alone, apart, strict=True)
    )
    return 2.0 * size, time


def _spread_and_slope(lag_s: FloatArray, unrest: Unrest) -> tuple[FloatArray, FloatArray]:
    """Return the variance of the way gained, and its slope by the logarithm of the time."""
    a, h = np.sqrt(3.0) / unrest.waver_s, np.abs(lag_s)
    slope = 2.0 * h / a - 6.0 / a**2 + np.exp(-a * h) * (6.0 / a**2 + 4.0 * h / a + h * h)
    return way_variance(lag_s, unrest), 2.0 * unrest.waver**2 * slope


def _bounded(pairs: Pairs, size: float, reach: float, g: FloatArray) -> tuple[float, float]:
    lag, by_distance = pairs.distances / reach, _by_distance(pairs, g)
    h = np.sqrt(5.0) * lag
    return _sized(size, by_distance, smooth(lag), h * h * (1.0 + h) / 3.0 * np.exp(-h))


def _weave(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float, float]:
    lag, pulled = data.emitted_lag_s, data.aside[:, None] * g * data.aside[None, :]
    far, by_distance = lag.distances / unrest.weave_s, _by_distance(lag, pulled)
    h = np.sqrt(7.0) * far
    slope = h * h * (1.0 + h + h * h / 3.0) / 5.0 * np.exp(-h)
    return _sized(unrest.weave_m, by_distance, smoother(far), slope)


def _sized(
    size: float, by_distance: FloatArray, fading: FloatArray, slope: FloatArray
) -> tuple[float, float]:
    """Return both for a covariance of that size, given how it fades and that slope by the time."""
    return 2.0 * size**2 * float(by_distance @ fading), size**2 * float(by_distance @ slope)


def _by_distance(pairs: Pairs, g: FloatArray) -> FloatArray:
    """Return the sum of the elements at each distance."""
    return np.asarray(
        np.bincount(pairs.index.reshape(-1), g.reshape(-1), minlength=pairs.distances.size)
    )


def _sway(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float, float]:
    return _bounded(data.lag_s, unrest.sway, unrest.sway_s, g)


def _echo(data: LinearData, unrest: Unrest, g: FloatArray) -> tuple[float, float]:
    return _bounded(data.apart, unrest.echo, unrest.echo_span, g)


_COMPONENTS: dict[tuple[str, ...], _Grown] = {
    ("walk",): _walk,
    ("jitter",): _jitter,
    ("wobble_hz", "wobble_s"): _wobble,
    ("waver", "waver_s"): _waver,
    ("weave_m", "weave_s"): _weave,
    ("sway", "sway_s"): _sway,
    ("echo", "echo_span"): _echo,
}
