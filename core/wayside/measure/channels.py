"""Two channels as a check: each measured alone, and the time between them.

A pair of microphones a few centimetres apart hears the source first on the side it comes from.
The time by which one channel leads swings over as the source passes, as the sine of the
direction; it says nothing about the speed that the pitch does not say better, but it must swing
where the pitch falls, and it tells from which side the source came. Arrival times are read as
the phase of each harmonic between the channels, direction by direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from wayside.jobs import Job
from wayside.measure.demod import Blocks
from wayside.measure.fitted import ModelFit
from wayside.measure.incoherent import related
from wayside.measure.models import fit_models
from wayside.measure.phasefit import Priors
from wayside.measure.refine import Refined, Sound, blocks_of, near_of
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# two microphones of one camera are no further apart than this in sound's way (s)
MOST_LEAD_S = 1.2e-3
LEAST_LEAD_S = 1.5e-5
SAME_SHARE = 1e-4
MOST_BLOCK_S = 0.03
AIMS_RAD = np.radians([-50.0, -25.0, 0.0, 25.0, 50.0])
FOLLOWED_RAD = np.radians([30.0, 45.0, 60.0, 75.0])
MOST_AIM_RAD = np.radians(35.0)
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
    followed : bool
        The pair turned after the source while it passed.
    """

    lead_s: float
    u_lead_s: float
    aim_rad: float
    u_aim_rad: float
    followed: bool

    @property
    def seen(self) -> bool:
        """True when the lead stands clear of its uncertainty."""
        return abs(self.lead_s) > max(LEAST_LEAD_S, CLEAR * self.u_lead_s)


@dataclass(frozen=True)
class Channels:
    """What the channels say one by one and together.

    Parameters
    ----------
    alone : tuple of ModelFit or None
        The fit to each channel; None where it cannot be fitted.
    swing : Swing
    """

    alone: tuple[ModelFit | None, ...]
    swing: Swing


def differ(left: npt.NDArray[np.float32], right: npt.NDArray[np.float32]) -> bool:
    """Return False where two channels hold the same sound, or one of them none."""
    both = [float(np.mean(x.astype(np.float64) ** 2)) for x in (left, right)]
    apart = float(np.mean((left - right).astype(np.float64) ** 2))
    return min(both) > SAME_SHARE * max(both) and apart > SAME_SHARE * max(both)


def check_channels(
    sounds: tuple[Sound, Sound], found: Refined, best: PassBy, kind: str, priors: Priors, job: Job
) -> Channels:
    """Measure each channel alone, and the time between the two.

    Parameters
    ----------
    sounds : tuple of Sound
        The two channels around the pass.
    found : Refined
        The pass-by found in both together.
    best : PassBy
        Its final fit.
    kind : str
    priors : Priors
    job : Job
    """
    alone: list[ModelFit | None] = []
    for sound in sounds:
        job.check()
        try:
            alone.append(fit_models(sound, found, kind, priors, True, job.part(0.0, 0.0)).fits[0])
        except (np.linalg.LinAlgError, ValueError):
            alone.append(None)
    block = float(
        np.clip(best.closest_m / best.speed_mps / 12.0, 2.5 / best.source_hz, MOST_BLOCK_S)
    )
    left, right = (blocks_of(near_of(s, best), best, found.harmonics, block) for s in sounds)
    return Channels(tuple(alone), swing_of(left, right, best))


def swing_of(left: Blocks, right: Blocks, p: PassBy) -> Swing:
    """Return the swing of the lead that best explains the phases between two channels."""
    phases = _Phases.of(left, right, p)
    theta, cost = _best(phases, AIMS_RAD, 0.0)
    width, followed = 0.0, False
    scatter = max(1.0, 2.0 * cost / max(1, phases.angle.size - 3))
    for angle in FOLLOWED_RAD:
        other, less = _best(phases, AIMS_RAD[2:3], float(angle))
        if less < cost - (0.0 if followed else DECISIVE * scatter):
            theta, cost, width, followed = other, less, float(angle), True
    u = _uncertainty(phases, theta, width)
    return Swing(float(theta[0]), float(u[0]), float(theta[1]), float(u[1]), followed)


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
        tau = p.emission_time(times)
        direction = np.arctan2(p.position(tau), p.closest_m)
        pitch = p.pitch(times) * left.harmonics[:, None]
        return cls(np.angle(cross), np.sqrt(information), pitch, direction)

    def rest(self, theta: FloatArray, width: float) -> FloatArray:
        """Return the weighted phases left over, shape (n_harmonics, n)."""
        lead, aim, offset = theta
        turn = np.clip(self.direction_rad, -width, width)
        delay = offset + lead * np.sin(self.direction_rad - turn - aim)
        left = self.angle + 2.0 * np.pi * self.pitch_hz * delay
        return np.asarray(self.weight * 2.0 * np.sin(0.5 * left))


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
        found = least_squares(
            lambda part, at=starts[number]: phases.rest(
                _with(at, free, part / SCALE[free]), width
            ).ravel(),
            starts[number][free] * SCALE[free],
        )
        theta = _with(starts[number], free, found.x / SCALE[free])
        if best is None or found.cost < best[1]:
            best = theta, float(found.cost)
    assert best is not None
    return best


def _with(theta: FloatArray, free: list[int], part: FloatArray) -> FloatArray:
    out = theta.copy()
    out[free] = part
    return out


def _uncertainty(phases: _Phases, theta: FloatArray, width: float) -> FloatArray:
    """Return standard uncertainties from how the scores of successive blocks scatter."""
    rest = phases.rest(theta, width)
    slopes = np.zeros((3, *rest.shape))
    for i in range(3):
        h = 1e-4 / SCALE[i] * 10.0
        up, down = theta.copy(), theta.copy()
        up[i] += h
        down[i] -= h
        slopes[i] = (phases.rest(up, width) - phases.rest(down, width)) / (2.0 * h) / SCALE[i]
    normal = np.einsum("ikn,jkn->ij", slopes, slopes)
    scores = np.einsum("ikn,kn->ni", slopes, rest)
    inverse = np.linalg.pinv(normal, rcond=1e-12, hermitian=True)
    # what the phases show of their scatter, never less than noise alone makes
    excess = float(np.trace(inverse @ related(scores, scores.shape[0] // 20))) / 3.0
    covariance = inverse * max(1.0, excess)
    return np.asarray(np.sqrt(np.maximum(np.diag(covariance), 0.0)) / SCALE)
