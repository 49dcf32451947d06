"""The Cramér-Rao bound for a coherent pass-by in white noise.

Model: ``s(t) = g(t) sum_k [A_k cos(2 pi k f0 u) + B_k sin(2 pi k f0 u)]`` with u the emission
time since passing and g = d/r (times (dtau/dt)^2 with convection). Unknown are f0, v, d, t0
and every A_k, B_k, which is the amplitude and the phase of each harmonic. For white Gaussian
noise of variance s^2 the information is J'J/s^2 (Kay, Fundamentals of Statistical Signal
Processing: Estimation Theory, 1993, equation 3.31, mean depending on the parameters). The
derivatives with respect to v, d and t0 are complex steps of the closed form (exact to
rounding), written here anew, independent of the program.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
PARAMETERS = ("source_hz", "speed_mps", "closest_m", "passing_time_s")
_STEP = 1e-30
_BLOCK = 1 << 17


@dataclass(frozen=True)
class Tone:
    """A coherent pass-by in white noise; amplitudes are those at the closest point."""

    source_hz: float
    speed_mps: float
    closest_m: float
    passing_time_s: float
    sound_speed_mps: float
    amplitudes: tuple[float, ...]
    phases: tuple[float, ...]
    noise_rms: float
    convective: bool = False


def shape(
    tone: Tone, t: npt.NDArray[np.complex128], v: complex, d: complex, t0: complex
) -> tuple[npt.NDArray[np.complex128], npt.NDArray[np.complex128]]:
    """Return gain and emission time since passing, for complex parameters."""
    c = tone.sound_speed_mps
    since = t - t0
    free = c * c - v * v
    u = (c * c * since - np.sqrt(c * c * v * v * since * since + free * d * d)) / free
    r = np.sqrt(d * d + v * v * u * u)
    gain = tone.closest_m / r
    # the reference distance is part of the unknown amplitude, so it does not vary with d
    if tone.convective:
        gain = gain / (1 + v * v * u / (c * r)) ** 2
    return gain, u


def information(tone: Tone, duration_s: float, rate_hz: float) -> FloatArray:
    """Return the Fisher information of (f0, v, d, t0, A_1, B_1, A_2, B_2 …)."""
    total = 0.0
    n = round(duration_s * rate_hz)
    for start in range(0, n, _BLOCK):
        t = np.arange(start, min(start + _BLOCK, n)) / rate_hz
        rows = _derivatives(tone, t)
        total = total + rows @ rows.T
    return np.asarray(total / tone.noise_rms**2)


def bound(
    tone: Tone,
    duration_s: float,
    rate_hz: float,
    unknown: Sequence[str] = PARAMETERS,
) -> dict[str, float]:
    """Return the least standard deviation of each unknown.

    Parameters
    ----------
    tone : Tone
    duration_s, rate_hz : float
        The recording is sampled at 0, 1/rate … below duration.
    unknown : sequence of str
        Which of `PARAMETERS` are unknown; amplitudes and phases always are.
    """
    full = information(tone, duration_s, rate_hz)
    keep = [PARAMETERS.index(name) for name in unknown] + list(range(4, len(full)))
    part = full[np.ix_(keep, keep)]
    # unit diagonal first: the parameters differ by many powers of ten
    scale = 1 / np.sqrt(np.diag(part))
    covariance = np.linalg.inv(part * np.outer(scale, scale)) * np.outer(scale, scale)
    return {name: float(np.sqrt(covariance[i, i])) for i, name in enumerate(unknown)}


def signal(tone: Tone, t: FloatArray) -> FloatArray:
    """Return the noiseless recording at times `t` (s)."""
    gain, u = shape(tone, t.astype(complex), tone.speed_mps, tone.closest_m, tone.passing_time_s)
    angle = 2 * np.pi * tone.source_hz * u.real
    return np.asarray(
        gain.real
        * sum(
            a * np.cos(k * angle + p)
            for k, (a, p) in enumerate(zip(tone.amplitudes, tone.phases, strict=True), start=1)
        )
    )


def _derivatives(tone: Tone, t: FloatArray) -> FloatArray:
    place = [tone.speed_mps, tone.closest_m, tone.passing_time_s]
    times = t.astype(complex)
    gain, u = (part.real for part in shape(tone, times, *place))
    slopes = []
    for index in range(3):
        moved: list[complex] = list(place)
        moved[index] += 1j * _STEP
        slopes.append([part.imag / _STEP for part in shape(tone, times, *moved)])
    rows = np.zeros((4 + 2 * len(tone.amplitudes), len(t)))
    for k, (a, p) in enumerate(zip(tone.amplitudes, tone.phases, strict=True), start=1):
        angle = 2 * np.pi * k * tone.source_hz * u
        cos, sin = np.cos(angle), np.sin(angle)
        wave = a * (cos * np.cos(p) - sin * np.sin(p))
        turn = -a * (sin * np.cos(p) + cos * np.sin(p))
        rows[0] += gain * turn * 2 * np.pi * k * u
        for index, (gain_slope, u_slope) in enumerate(slopes, start=1):
            rows[index] += gain_slope * wave
            rows[index] += gain * turn * 2 * np.pi * k * tone.source_hz * u_slope
        rows[2 + 2 * k] = gain * cos
        rows[3 + 2 * k] = gain * sin
    return rows
