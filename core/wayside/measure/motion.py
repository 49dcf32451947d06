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
    slopes : ndarray, shape (5, n)
        Derivatives of `cycles` by `NAMES`.
    place : Place
        Where the source was.
    """

    cycles: FloatArray
    slopes: FloatArray
    place: Place

    @property
    def jacobian(self) -> FloatArray:
        """Derivatives of `cycles` by `NAMES`, shape (n, 5)."""
        return self.slopes.T

    @property
    def spread(self) -> FloatArray:
        """Amplitude relative to the closest point, d/r, shape (n,)."""
        return np.asarray(self.place.dr[2])

    @property
    def fading(self) -> FloatArray:
        """Derivatives of the logarithm of `spread` by `NAMES`, shape (5, n)."""
        at = self.place
        # with tau counted from the passing, r depends on the passing through tau alone
        out = -(at.speed * at.x / at.r**2) * at.dtau
        for i in (1, 2, 4):
            out[i] -= at.dr[i] / at.r
        out[2] += 1.0 / at.closest_m
        return np.asarray(out)


@dataclass(frozen=True)
class Place:
    """Where a source is when it emits what is heard, and how that moves with the parameters."""

    tau: FloatArray  # emission time since the passing (s)
    x: FloatArray  # along the track (m)
    speed: FloatArray
    r: FloatArray
    dr: FloatArray  # (5, n): derivatives of r by the parameters, emission time held
    dtau: FloatArray  # (5, n): derivatives of tau
    closest_m: float


def _place(p: PassBy, t_s: FloatArray) -> Place:
    tau = p.emission_time(t_s) - p.passing_time_s
    v, a, d, c = p.speed_mps, p.acceleration_mps2, p.closest_m, p.sound_speed_mps
    x, speed = v * tau, np.full(tau.shape, v)
    if a:
        x += 0.5 * a * tau * tau
        speed += a * tau
    r = np.sqrt(x * x + d * d)
    away = x / r
    dr = np.empty((5, t_s.size))
    dr[0] = 0.0
    np.multiply(away, tau, out=dr[1])
    np.divide(d, r, out=dr[2])
    np.multiply(away, speed, out=dr[3])
    np.multiply(dr[1], 0.5 * tau, out=dr[4])
    slope = c + dr[3]
    np.negative(dr[3], out=dr[3])
    # derivative of (tau - tau0); moving tau0 also moves the origin the phase counts from
    dtau = dr / -slope
    dtau[3] -= 1.0
    return Place(tau, x, speed, r, dr, dtau, d)


def phase_model(p: PassBy, t_s: FloatArray) -> PhaseModel:
    """Return phase, derivatives and spreading at reception times `t_s`, shape (n,)."""
    at = _place(p, t_s)
    if not p.speed_tied:
        slopes = p.source_hz * at.dtau
        slopes[0] = at.tau
        return PhaseModel(p.source_hz * at.tau, slopes, at)
    v = p.speed_mps
    slopes = (p.source_hz / v) * at.speed * at.dtau
    slopes[0] = at.x / v
    slopes[1] += p.source_hz * (at.tau - at.x / v) / v
    slopes[4] += p.source_hz * 0.5 * at.tau * at.tau / v
    return PhaseModel(p.source_hz * at.x / v, slopes, at)


def turns_of(cycles: FloatArray, harmonics: npt.ArrayLike) -> npt.NDArray[np.complex128]:
    """Return each harmonic's turn, that of the fundamental multiplied so many times.

    Parameters
    ----------
    cycles : ndarray, shape (n,)
        Of the fundamental.
    harmonics : array_like of int, shape (n_harmonics,)
        Their numbers.

    Returns
    -------
    ndarray, shape (n_harmonics, n), complex
    """
    numbers = np.asarray(harmonics)
    fundamental = np.exp(2j * np.pi * cycles)
    turns = np.empty((numbers.size, cycles.size), np.complex128)
    turn = np.ones_like(fundamental)
    for number in range(1, int(numbers.max()) + 1):
        turn *= fundamental
        turns[numbers == number] = turn
    return turns


def lever(p: PassBy, t_s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what a source ahead of its place does to the phase heard at `t_s`, shape (n,).

    Returns
    -------
    since_s : ndarray, shape (n,)
        Emission times since the passing (s).
    cycles_per_m : ndarray, shape (n,)
        Change of the received phase for each metre the source is ahead on its track.
    """
    at = _place(p, t_s)
    return at.tau, lever_at(p, at)


def lever_at(p: PassBy, at: Place) -> FloatArray:
    """Return the second of `lever` for where the source is."""
    v, c = p.speed_mps, p.sound_speed_mps
    dtau = -(at.x / at.r) / (c * (1.0 + at.speed * at.x / (at.r * c)))
    if p.speed_tied:
        return np.asarray(p.source_hz / v * (1.0 + at.speed * dtau))
    return np.asarray(p.source_hz * dtau)


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
