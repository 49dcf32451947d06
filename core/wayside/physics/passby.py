"""Sound of a source on a straight line past a fixed microphone, by retarded time.

A sound emitted at ``tau`` arrives at ``t = tau + r(tau)/c`` with
``r = sqrt(d^2 + x(tau)^2)`` and ``x = v (tau - tau0) + a (tau - tau0)^2 / 2``.
For ``a = 0`` the emission time has the closed form used below (elementary: square
``c (t - tau) = r`` and solve the quadratic). See docs/theory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PassBy:
    """A pass-by: where the source is, and the pitch it has when at the closest point.

    Parameters
    ----------
    source_hz : float
        Source pitch at the closest point (Hz).
    speed_mps : float
        Source speed at the closest point (m/s), 0 < v < c.
    closest_m : float
        Distance of closest approach (m), > 0.
    passing_time_s : float
        Time at which the source *is* at the closest point, on the recording's clock (s);
        its sound is heard ``closest_m / sound_speed_mps`` later.
    sound_speed_mps : float
        Speed of sound (m/s).
    acceleration_mps2 : float
        Constant acceleration along the track (m/s^2), negative when slowing.
    speed_tied : bool
        True when the source pitch follows the speed (wheel pattern): f = f0 v(tau)/v.
    """

    source_hz: float
    speed_mps: float
    closest_m: float
    passing_time_s: float
    sound_speed_mps: float = 343.2
    acceleration_mps2: float = 0.0
    speed_tied: bool = False

    @property
    def approach_hz(self) -> float:
        """Limit of the pitch heard long before a constant-speed passing (Hz)."""
        return self.source_hz / (1.0 - self.speed_mps / self.sound_speed_mps)

    @property
    def recede_hz(self) -> float:
        """Limit of the pitch heard long after a constant-speed passing (Hz)."""
        return self.source_hz / (1.0 + self.speed_mps / self.sound_speed_mps)

    @property
    def heard_passing_s(self) -> float:
        """When the sound of the closest point is heard (s)."""
        return self.passing_time_s + self.closest_m / self.sound_speed_mps

    def emission_time(self, t_s: npt.ArrayLike) -> FloatArray:
        """Return the emission time tau (s) of the sound heard at `t_s` (any shape)."""
        return emission_time(self, np.asarray(t_s, dtype=np.float64))

    def position(self, tau_s: npt.ArrayLike) -> FloatArray:
        """Return the position along the track (m) at emission time `tau_s`."""
        tau = np.asarray(tau_s, dtype=np.float64) - self.passing_time_s
        return self.speed_mps * tau + 0.5 * self.acceleration_mps2 * tau**2

    def velocity(self, tau_s: npt.ArrayLike) -> FloatArray:
        """Return the speed along the track (m/s) at emission time `tau_s`."""
        tau = np.asarray(tau_s, dtype=np.float64) - self.passing_time_s
        return self.speed_mps + self.acceleration_mps2 * tau

    def distance(self, tau_s: npt.ArrayLike) -> FloatArray:
        """Return the distance from source to microphone (m) at emission time `tau_s`."""
        return np.hypot(self.closest_m, self.position(tau_s))

    def arrival_time(self, tau_s: npt.ArrayLike) -> FloatArray:
        """Return when the sound emitted at `tau_s` is heard (s)."""
        return np.asarray(tau_s, dtype=np.float64) + self.distance(tau_s) / self.sound_speed_mps

    def pitch(self, t_s: npt.ArrayLike) -> FloatArray:
        """Return the pitch heard (Hz) at reception times `t_s` (s), any shape."""
        tau = self.emission_time(t_s)
        v = self.velocity(tau)
        source = self.source_hz * v / self.speed_mps if self.speed_tied else self.source_hz
        radial = v * self.position(tau) / self.distance(tau)
        return np.asarray(source / (1.0 + radial / self.sound_speed_mps), dtype=np.float64)

    def source_phase(self, tau_s: npt.ArrayLike) -> FloatArray:
        """Return cycles emitted since the passing moment, at emission time `tau_s`."""
        tau = np.asarray(tau_s, dtype=np.float64) - self.passing_time_s
        if self.speed_tied:
            return self.source_hz * self.position(tau_s) / self.speed_mps
        return self.source_hz * tau

    def with_(self, **changes: float | bool) -> PassBy:
        """Return a copy with some fields replaced."""
        return replace(self, **changes)  # type: ignore[arg-type]


def emission_time(p: PassBy, t_s: FloatArray) -> FloatArray:
    """Return the emission time of the sound heard at `t_s`.

    Parameters
    ----------
    p : PassBy
        The pass-by.
    t_s : ndarray
        Reception times (s), any shape.

    Returns
    -------
    ndarray
        Emission times (s), same shape. Closed form for constant speed, Newton's method
        from there (to 1e-13 s) with acceleration.
    """
    c, v, d = p.sound_speed_mps, p.speed_mps, p.closest_m
    T = t_s - p.passing_time_s
    c2mv2 = c * c - v * v
    # T - tau written without cancellation for large |T|
    tau = (c * c * T - np.sqrt(c * c * v * v * T * T + c2mv2 * d * d)) / c2mv2
    a = p.acceleration_mps2
    if a:
        for _ in range(30):
            x = v * tau + 0.5 * a * tau * tau
            r = np.sqrt(x * x + d * d)
            step = (tau + r / c - T) / (1.0 + (v + a * tau) * x / (c * r))
            tau = tau - step
            if np.max(np.abs(step), initial=0.0) < 1e-13:
                break
    return np.asarray(tau + p.passing_time_s, dtype=np.float64)


def speed_from_limits(
    approach_hz: float, recede_hz: float, sound_speed_mps: float
) -> tuple[float, float]:
    """Back-solve speed and source pitch from the two limiting pitches.

    ``v = c (fa - fr)/(fa + fr)`` and ``f0 = 2 fa fr/(fa + fr)`` (the harmonic mean).

    Returns
    -------
    speed_mps, source_hz : float
    """
    total = approach_hz + recede_hz
    return (
        sound_speed_mps * (approach_hz - recede_hz) / total,
        2.0 * approach_hz * recede_hz / total,
    )
