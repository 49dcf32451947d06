"""How uncertain a pitch curve is at each moment, from its parameters' covariance.

Linear propagation, ``u^2 = J C J^T`` (JCGM 102, 6.2), with the slopes J taken by central
differences.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from wayside.physics.passby import FloatArray, PassBy

_STEP = 1e-5


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
