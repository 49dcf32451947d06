"""Phase of the received sound and its derivatives for every motion model fitted.

With emission time tau(t) from ``t = tau + r/c`` (retarded time), the received phase is the
source phase at tau. Derivatives follow from implicit differentiation:
``d tau/d theta = -(dr/d theta)/c / (1 + r'/c)``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# order of the fitted parameters everywhere in this package
NAMES = ("source_hz", "speed_mps", "closest_m", "passing_time_s", "acceleration_mps2")


@dataclass(frozen=True)
class PhaseModel:
    """Received phase of a pass-by at given times.

    Parameters
    ----------
    cycles : ndarray, shape (n,)
        Cycles of the fundamental since the passing moment.
    jacobian : ndarray, shape (n, 5)
        Derivatives of `cycles` by `NAMES`.
    spread : ndarray, shape (n,)
        Amplitude relative to the closest point, d/r.
    fading : ndarray, shape (n, 5)
        Derivatives of the logarithm of `spread` by `NAMES`.
    """

    cycles: FloatArray
    jacobian: FloatArray
    spread: FloatArray
    fading: FloatArray


def phase_model(p: PassBy, t_s: FloatArray) -> PhaseModel:
    """Return phase, derivatives and spreading at reception times `t_s`, shape (n,)."""
    tau = p.emission_time(t_s) - p.passing_time_s
    v, a, d, c = p.speed_mps, p.acceleration_mps2, p.closest_m, p.sound_speed_mps
    x = v * tau + 0.5 * a * tau * tau
    speed = v + a * tau
    r = np.hypot(d, x)
    slope = 1.0 + speed * x / (r * c)
    dr = np.empty((t_s.size, 5))
    dr[:, 0] = 0.0
    dr[:, 1] = x * tau / r
    dr[:, 2] = d / r
    dr[:, 3] = -x * speed / r
    dr[:, 4] = 0.5 * x * tau * tau / r
    # derivative of (tau - tau0); moving tau0 also moves the origin the phase counts from
    dtau = -dr / (c * slope)[:, None]
    dtau[:, 3] -= 1.0
    # with tau counted from the passing, r depends on the passing through tau alone
    fading = -(speed * x / r**2)[:, None] * dtau
    for i in (1, 2, 4):
        fading[:, i] -= dr[:, i] / r
    fading[:, 2] += 1.0 / d
    if p.speed_tied:
        cycles = p.source_hz * x / v
        rate = p.source_hz * speed / v
    else:
        cycles = p.source_hz * tau
        rate = np.full(t_s.size, p.source_hz)
    jac = rate[:, None] * dtau
    jac[:, 0] += cycles / p.source_hz
    if p.speed_tied:
        jac[:, 1] += p.source_hz * (tau - x / v) / v
        jac[:, 4] += p.source_hz * 0.5 * tau * tau / v
    return PhaseModel(cycles, jac, d / r, fading)


def lever(p: PassBy, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what a source ahead of its place does to the phase heard at `t_s`, shape (n,).

    Returns
    -------
    since_s : ndarray, shape (n,)
        Emission times since the passing (s).
    cycles_per_m : ndarray, shape (n,)
        Change of the received phase for each metre the source is ahead on its track.
    """
    since = p.emission_time(t_s) - p.passing_time_s
    v, a, d, c = p.speed_mps, p.acceleration_mps2, p.closest_m, p.sound_speed_mps
    x = v * since + 0.5 * a * since * since
    speed = v + a * since
    r = np.hypot(d, x)
    dtau = -(x / r) / (c * (1.0 + speed * x / (r * c)))
    if p.speed_tied:
        return since, p.source_hz / v * (1.0 + speed * dtau)
    return since, p.source_hz * dtau


def from_vector(p: PassBy, theta: FloatArray) -> PassBy:
    """Return `p` with the five fitted parameters replaced."""
    return p.with_(**dict(zip(NAMES, (float(x) for x in theta), strict=True)))


def to_vector(p: PassBy) -> FloatArray:
    """Return the five fitted parameters, shape (5,)."""
    return np.array([getattr(p, name) for name in NAMES])


def from_curve(alpha_hz: float, mach: float, s: float, tc: float, c: float) -> PassBy:
    """Return the pass-by whose pitch curve is ``alpha (1 - M T/sqrt(s^2 + T^2))``."""
    v = mach * c
    return PassBy(alpha_hz * (1.0 - mach**2), v, s * v / np.sqrt(1.0 - mach**2), tc, c)
