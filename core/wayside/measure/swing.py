"""The time by which one channel hears a source before the other, as it swings over.

A pair of microphones a few centimetres apart hears the source first on the side it comes from.
The time by which one channel leads swings over as the source passes, as the sine of the
direction. Arrival times are read as the phase of each harmonic between the channels, direction
by direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.incoherent import related
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# two microphones of one camera are no further apart than this in sound's way (s)
MOST_LEAD_S = 1.2e-3
LEAST_LEAD_S = 1.5e-5
AIMS_RAD = np.radians([-50.0, -25.0, 0.0, 25.0, 50.0])
FOLLOWED_RAD = np.radians([30.0, 45.0, 60.0, 75.0])
DECISIVE, CLEAR = 10.0, 4.0
STARTS = 3
# the fit counts leads in tenths of a millisecond
SCALE = np.array([1e4, 1.0, 1e4])


@dataclass(frozen=True)
class Swing:
    """How the lead of channel 1 over channel 2 goes with the direction of the source.

    Parameters
    ----------
    lead_s, u_lead_s : float
        Lead when the source comes from far off (s); positive when channel 1 faces that side.
    aim_rad, u_aim_rad : float
        Where the pair faces, counted from straight across the track towards where the source
        goes (rad).
    turned_rad : float
        How far to either side the pair turned after the source while it passed (rad); 0 if not.
    offset_s : float
        By how much channel 1 lags all along (s).
    """

    lead_s: float
    u_lead_s: float
    aim_rad: float
    u_aim_rad: float
    turned_rad: float
    offset_s: float

    @property
    def seen(self) -> bool:
        """True when the lead stands clear of its uncertainty."""
        return abs(self.lead_s) > max(LEAST_LEAD_S, CLEAR * self.u_lead_s)

    def lag_s(self, direction_rad: FloatArray) -> FloatArray:
        """Return by how much channel 1 lags a source in those directions (s)."""
        return np.asarray(self.offset_s + self.lead_s * np.sin(self.off_rad(direction_rad)))

    def later_s(self, direction_rad: FloatArray, sound_s: FloatArray) -> FloatArray:
        """Return by how much later than midway both hear a source on the mean (s).

        `sound_s` is how long its sound is on the way (s). Of two places either side of a third the
        mean distance is the larger by the square of their half distance across over twice it.
        """
        across = 0.5 * self.lead_s * np.cos(self.off_rad(direction_rad))
        return np.asarray(across**2 / (2.0 * sound_s))

    def off_rad(self, direction_rad: FloatArray) -> FloatArray:
        """Return how far a source is off where the pair faces (rad)."""
        turn = np.clip(direction_rad, -self.turned_rad, self.turned_rad)
        return np.asarray(direction_rad - turn - self.aim_rad)


def direction_of(p: PassBy, heard_s: FloatArray) -> FloatArray:
    """Return where the source is that is heard at some times, from straight across (rad)."""
    return np.asarray(np.arctan2(p.position(p.emission_time(heard_s)), p.closest_m))


def swing_of(left: Blocks, right: Blocks, p: PassBy, job: Job = QUIET) -> Swing:
    """Return the swing of the lead that best explains the phases between two channels.

    Raises
    ------
    Cancelled
        If the job was stopped.
    """
    phases = _Phases.of(left, right, p)
    theta, cost = _best(phases, AIMS_RAD, 0.0)
    width = 0.0
    scatter = max(1.0, 2.0 * cost / max(1, phases.angle.size - 3))
    for angle in FOLLOWED_RAD:
        job.check()
        other, less = _best(phases, AIMS_RAD[2:3], float(angle))
        if less < cost - (0.0 if width else DECISIVE * scatter):
            theta, cost, width = other, less, float(angle)
    return _swing(theta, width, _uncertainty(phases, theta, width))


def _swing(theta: FloatArray, width: float, u: tuple[float, float] = (0.0, 0.0)) -> Swing:
    lead, aim, offset = (float(x) for x in theta)
    return Swing(lead, u[0], aim, u[1], width, offset)


@dataclass(frozen=True)
class _Phases:
    """Phases between the channels: angle, weight and cycles a second, (n_harmonics, n)."""

    angle: FloatArray
    weight: FloatArray
    pitch_hz: FloatArray
    direction_rad: FloatArray

    @classmethod
    def of(cls, left: Blocks, right: Blocks, p: PassBy) -> _Phases:
        n = min(left.times_s.size, right.times_s.size)
        cross = left.z[:, :n] * np.conj(right.z[:, :n])
        noise = left.noise + right.noise
        size = np.sqrt(np.abs(cross))
        # phase noise of the product of two lines of this size in this noise
        information = np.maximum(size**2 - noise[:, None], 0.0) / noise[:, None]
        times = left.times_s[:n]
        pitch = p.pitch(times) * left.harmonics[:, None]
        return cls(np.angle(cross), np.sqrt(information), pitch, direction_of(p, times))

    def rest(self, theta: FloatArray, width: float) -> FloatArray:
        """Return the weighted phases left over, shape (n_harmonics, n)."""
        return np.asarray(self.weight * 2.0 * np.sin(0.5 * self._left(theta, width)))

    def slopes(self, theta: FloatArray, width: float) -> FloatArray:
        """Return how these go with each parameter as the fit counts it, (3, n_harmonics, n)."""
        swing = _swing(theta, width)
        by_lag = self.weight * np.cos(0.5 * self._left(theta, width)) * 2.0 * np.pi * self.pitch_hz
        off = swing.off_rad(self.direction_rad)
        lags = np.array([np.sin(off), -swing.lead_s * np.cos(off), np.ones(off.size)])
        return np.asarray((lags / SCALE[:, None])[:, None, :] * by_lag)

    def _left(self, theta: FloatArray, width: float) -> FloatArray:
        lag = _swing(theta, width).lag_s(self.direction_rad)
        return np.asarray(self.angle + 2.0 * np.pi * self.pitch_hz * lag)


def _best(phases: _Phases, aims_rad: FloatArray, width: float) -> tuple[FloatArray, float]:
    """Return lead (s), aim (rad) and offset (s) at the least cost, and that cost."""
    step = 0.08 / float(phases.pitch_hz.max())
    leads = np.arange(-MOST_LEAD_S, MOST_LEAD_S + step, step)
    starts = [np.array([lead, aim, 0.0]) for lead in leads for aim in aims_rad]
    costs = [float(np.sum(phases.rest(s, width) ** 2)) for s in starts]
    # where the pair turns after the source its aim is not seen
    free = [0, 2] if width else [0, 1, 2]
    best: tuple[FloatArray, float] | None = None
    for number in np.argsort(costs)[:STARTS]:

        def theta_of(part: FloatArray, at: FloatArray = starts[number]) -> FloatArray:
            theta = at.copy()
            theta[free] = part / SCALE[free]
            return theta

        found = least_squares(
            lambda part, of=theta_of: phases.rest(of(part), width).ravel(),
            starts[number][free] * SCALE[free],
            lambda part, of=theta_of: phases.slopes(of(part), width)[free].reshape(len(free), -1).T,
            method="lm",
        )
        theta = theta_of(found.x)
        if best is None or found.cost < best[1]:
            best = theta, float(found.cost)
    assert best is not None
    return best


def _uncertainty(phases: _Phases, theta: FloatArray, width: float) -> tuple[float, float]:
    """Return that of lead (s) and aim (rad), from how the scores of successive blocks scatter."""
    rest, slopes = phases.rest(theta, width), phases.slopes(theta, width)
    normal = np.einsum("ikn,jkn->ij", slopes, slopes)
    scores = np.einsum("ikn,kn->ni", slopes, rest)
    inverse = np.linalg.pinv(normal, rcond=1e-12, hermitian=True)
    # what the phases show of their scatter, never less than noise alone makes
    excess = float(np.trace(inverse @ related(scores, scores.shape[0] // 20))) / 3.0
    covariance = inverse * max(1.0, excess)
    u = np.sqrt(np.maximum(np.diag(covariance), 0.0)) / SCALE
    return float(u[0]), float(u[1])
