"""A pitch curve for drawing, and how uncertain it is at each moment.

Linear propagation, ``u^2 = J C J^T`` (JCGM 102, 6.2), with the slopes J taken by central
differences.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from wayside.physics.passby import FloatArray, PassBy

CURVE_POINTS = 400

_STEP = 1e-5


def curve_times(
    passby: PassBy, start_s: float, stop_s: float, points: int = CURVE_POINTS
) -> FloatArray:
    """Return times (s) denser around the passing, even in ``asinh``, for a smooth glide.

    Parameters
    ----------
    passby : PassBy
    start_s, stop_s : float
        First and last time (s).
    points : int, optional
        How many.
    """
    scale = max(passby.closest_m / passby.speed_mps, 1e-3)
    heard = passby.heard_passing_s
    low, high = np.arcsinh((start_s - heard) / scale), np.arcsinh((stop_s - heard) / scale)
    times = heard + scale * np.sinh(np.linspace(low, high, points))
    # the ends are what was asked for, not what rounding made of them
    times[0], times[-1] = start_s, stop_s
    return np.asarray(times, dtype=np.float64)


def pitch_uncertainty(
    passby: PassBy,
    times_s: npt.ArrayLike,
    parameters: Sequence[str],
    covariance: npt.ArrayLike,
) -> FloatArray:
    """Return the standard uncertainty of the pitch heard (Hz), shape of `times_s`.

    Parameters
    ----------
    passby : PassBy
    times_s : array_like, shape (n,)
        Reception times (s).
    parameters : sequence of str
        Field names of `passby` that are uncertain.
    covariance : array_like, shape (k, k)
        Their covariance matrix, in the fields' units.
    """
    times = np.asarray(times_s, dtype=np.float64)
    matrix = np.asarray(covariance, dtype=np.float64)
    slopes = np.stack([_slope(passby, times, name) for name in parameters], axis=-1)
    variance = np.einsum("ni,ij,nj->n", slopes, matrix, slopes)
    return np.asarray(np.sqrt(np.maximum(variance, 0.0)), dtype=np.float64)


def _slope(passby: PassBy, times: FloatArray, name: str) -> FloatArray:
    value = float(getattr(passby, name))
    step = _STEP * max(abs(value), 1.0 if name == "passing_time_s" else 0.0) or _STEP
    up = passby.with_(**{name: value + step}).pitch(times)
    down = passby.with_(**{name: value - step}).pitch(times)
    return (up - down) / (2.0 * step)
