"""When the sound heard now was emitted, and how far it came, with wind and a moving ear.

A sound emitted at tau from X(tau) reaches the microphone (x_m, at lateral distance d) after T
with ``(x_m - X - w T)^2 + d^2 = c^2 T^2`` (the air carries it along at w), so with
``s = x_m - X``: ``T = (-w s + sqrt(c^2 s^2 + (c^2 - w^2) d^2)) / (c^2 - w^2)``.
The emission time solves ``tau + T = t`` by Newton's method.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wayside.physics.passby import FloatArray
from wayside.simulate.motion import Motion


@dataclass(frozen=True)
class Heard:
    """The sound path at each reception time; arrays of one shape.

    Parameters
    ----------
    emission_s : ndarray
        Emission time tau (s).
    path_m : ndarray
        Length of the path through the air, c T (m).
    rate : ndarray
        d tau/d t for a microphone at rest: the pitch heard over the pitch emitted.
    along_m : ndarray
        Source position minus microphone position along the track at emission (m).
    """

    emission_s: FloatArray
    path_m: FloatArray
    rate: FloatArray
    along_m: FloatArray


def hear(
    motion: Motion,
    t_s: FloatArray,
    lateral_m: FloatArray | float,
    microphone_m: FloatArray | float = 0.0,
    wind_mps: float = 0.0,
) -> Heard:
    """Return the sound path for reception times `t_s`.

    Parameters
    ----------
    motion : Motion
        The source's motion.
    t_s : ndarray
        Reception times (s).
    lateral_m, microphone_m : ndarray or float
        Distance of the microphone from the track and its place along it (m) at `t_s`.
    wind_mps : float
        Wind along the track (m/s).
    """
    p = motion.passby
    c = p.sound_speed_mps
    free = c * c - wind_mps * wind_mps
    lateral = np.asarray(lateral_m, dtype=np.float64)
    # the closest approach of the given lateral distance, for a start that is nearly right
    tau = p.with_(closest_m=float(np.mean(lateral))).emission_time(t_s)
    exact = (
        motion.plain and not wind_mps and lateral.ndim == 0 and not np.any(np.asarray(microphone_m))
    )

    def at(tau: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the root, s, and how fast what tau + T is off grows with tau."""
        far, growth = motion.lateral(tau, lateral)
        s = microphone_m - motion.direction * motion.travelled(tau)
        root = np.sqrt(c * c * s * s + free * far * far)
        along = motion.direction * motion.speed(tau) * (c * c * s / root - wind_mps) / free
        return root, s, 1.0 - along + far * growth / root

    root, s, slope = at(tau)
    if not exact:
        for _ in range(40):
            step = (tau + (root - wind_mps * s) / free - t_s) / slope
            tau = tau - step
            root, s, slope = at(tau)
            if np.max(np.abs(step), initial=0.0) < 1e-12:
                break
    return Heard(tau, c * (root - wind_mps * s) / free, 1.0 / slope, -s)
