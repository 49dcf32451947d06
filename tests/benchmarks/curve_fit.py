"""Two rival readings: peaks of two far windows, and the exact curve through a pitch track.

For constant speed the pitch heard is exactly ``alpha + beta T / sqrt(s^2 + T^2)``, T = t - tc,
with ``v = -c beta/alpha`` and ``f0 = alpha (1 - beta^2/alpha^2)``; it is linear in alpha and
beta, so only tc and s are searched.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy import optimize

from wayside.physics.passby import speed_from_limits

FloatArray = npt.NDArray[np.float64]


def two_windows(
    sound: FloatArray, rate_hz: float, band_hz: tuple[float, float], sound_speed_mps: float
) -> tuple[float, float]:
    """Return speed and source pitch from the peaks of the first and last quarter."""
    part = len(sound) // 4
    first = _peak(sound[:part], rate_hz, band_hz)
    last = _peak(sound[-part:], rate_hz, band_hz)
    return speed_from_limits(first, last, sound_speed_mps)


def _peak(sound: FloatArray, rate_hz: float, band_hz: tuple[float, float]) -> float:
    size = 4 * (1 << (len(sound) - 1).bit_length())
    power = np.abs(np.fft.rfft(sound * np.hanning(len(sound)), size)) ** 2
    low, high = (int(f * size / rate_hz) for f in band_hz)
    low = max(low, 1)
    top = low + int(np.argmax(power[low : max(high, low + 3)]))
    left, mid, right = np.log(power[top - 1 : top + 2] + 1e-300)
    # the vertex of the parabola through the logarithms of the three highest bins
    bend = left - 2 * mid + right
    shift = 0.5 * (left - right) / bend if bend else 0.0
    return float((top + shift) * rate_hz / size)


def fit_track(
    times_s: FloatArray, pitch_hz: FloatArray, sound_speed_mps: float
) -> tuple[float, float] | None:
    """Return speed and source pitch of the curve through a track; None without one.

    Outliers are held down by a soft-L1 loss whose scale is the track's own scatter; the start
    is the best of a grid over (tc, s).
    """
    good = np.isfinite(pitch_hz)
    t, f = times_s[good], pitch_hz[good]
    if len(t) < 8:
        return None
    span = float(t[-1] - t[0])
    best: tuple[float, float, float] | None = None
    for tc in np.linspace(t[0], t[-1], 41):
        for s in np.geomspace(0.02, 0.5 * span + 0.03, 16):
            alpha, beta, misfit = _lines(t - tc, f, s)
            if beta < 0 and (best is None or misfit < best[0]):
                best = (misfit, float(tc), float(s))
    if best is None:
        return None
    _, tc, s = best
    alpha, beta, _ = _lines(t - tc, f, s)
    scale = max(1e-3, float(np.median(np.abs(f - _curve((alpha, beta, tc, math.log(s)), t)))))
    done = optimize.least_squares(
        lambda p: _curve(p, t) - f,
        (alpha, beta, tc, math.log(s)),
        loss="soft_l1",
        f_scale=scale,
        x_scale=(1.0, 1.0, 0.05, 0.2),
    )
    alpha, beta = done.x[:2]
    return float(-sound_speed_mps * beta / alpha), float(alpha * (1 - (beta / alpha) ** 2))


def _lines(since: FloatArray, f: FloatArray, s: float) -> tuple[float, float, float]:
    shape = since / np.sqrt(s * s + since * since)
    rows = np.column_stack([np.ones_like(shape), shape])
    (alpha, beta), *_ = np.linalg.lstsq(rows, f, rcond=None)
    return float(alpha), float(beta), float(np.sum(np.abs(rows @ [alpha, beta] - f)))


def _curve(p: npt.ArrayLike, t: FloatArray) -> FloatArray:
    alpha, beta, tc, log_s = np.asarray(p)
    since = t - tc
    return np.asarray(alpha + beta * since / np.sqrt(np.exp(2 * log_s) + since * since))
