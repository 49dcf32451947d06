"""What the final fits are: a fitted model, what it is an average of, and those that stand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.measure.demod import Blocks
from wayside.measure.interrupted import Pulses
from wayside.measure.ladder import scale_of
from wayside.measure.mixture import Mixture, weights_of
from wayside.measure.motion import from_vector, to_vector
from wayside.measure.reflection import Reflection
from wayside.measure.unrest import Unrest
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# a model likelier by so many nats (odds of 20 to 1) is taken alone
DECISIVE = 3.0
# a fixed pitch must be likelier by so many nats before one tied to a rider's speed is left out: a
# tyre may wander otherwise than it is taken to
SURELY_FIXED = 12.0
SOUND_SPEED_STEP = 0.003
# a drift smaller than so many uncertainties may be chance
CLEAR_IN_U = 3.0


@dataclass(frozen=True)
class Share:
    """One of the fits that a fit is an average of.

    Parameters
    ----------
    passby : PassBy
    covariance : ndarray, shape (5, 5)
        As that of a `ModelFit`.
    weight : float
        The weights add up to 1.
    """

    passby: PassBy
    covariance: FloatArray
    weight: float


def scaling(p: PassBy) -> FloatArray:
    """Return how the parameters follow the speed of sound when only the sound decides.

    The received pitch fixes v/c and d/v, so speed, distance and acceleration scale with c.
    """
    c = p.sound_speed_mps
    return np.array([0.0, p.speed_mps / c, p.closest_m / c, 0.0, p.acceleration_mps2 / c])


def at_other_sound_speed(p: PassBy) -> tuple[PassBy, float]:
    """Return what sounds like `p` where sound is a little faster, and by how much (m/s)."""
    move = SOUND_SPEED_STEP * p.sound_speed_mps
    other = from_vector(p, to_vector(p) + scaling(p) * move)
    return other.with_(sound_speed_mps=p.sound_speed_mps + move), move


def in_units(scaled: FloatArray, p: PassBy, free: tuple[int, ...]) -> FloatArray:
    """Return a covariance in scaled steps of the free parameters as one of all five in SI."""
    scale = scale_of(p)[list(free)]
    return among_five(scaled * np.outer(scale, scale), free)


def among_five(covariance: FloatArray, free: tuple[int, ...]) -> FloatArray:
    """Return the covariance of the free parameters in its place among all five."""
    out = np.zeros((5, 5))
    out[np.ix_(free, free)] = covariance
    return out


def shares_in(mixture: Mixture, free: tuple[int, ...]) -> tuple[Share, ...]:
    """Return the parts of a mixture; none where it is one fit."""
    parts = mixture.parts
    if len(parts) == 1:
        return ()
    return tuple(
        Share(part.passby, in_units(part.covariance, part.passby, free), float(weight))
        for part, weight in zip(parts, weights_of(parts), strict=True)
    )


@dataclass(frozen=True)
class ModelFit:
    """One fitted model.

    Parameters
    ----------
    passby : PassBy
    covariance : ndarray, shape (5, 5)
        Of all five parameters in SI units, speed of sound held; zero rows for those held.
    method : str
        ``"coherent"`` or ``"incoherent"``.
    unrest : Unrest
    evidence : float
        Log-evidence up to a constant shared by the models of one recording (nats).
    by_c : ndarray, shape (5,)
        Derivative of the parameters by the speed of sound.
    parts : tuple of Share
        What the fit is an average of; empty where it is one fit.
    """

    passby: PassBy
    covariance: FloatArray
    method: str
    unrest: Unrest
    evidence: float
    by_c: FloatArray
    parts: tuple[Share, ...] = ()

    @property
    def kind(self) -> str:
        """``"fixed"`` or ``"speed-tied"``."""
        return "speed-tied" if self.passby.speed_tied else "fixed"

    def u(self, index: int) -> float:
        """Return the standard uncertainty of parameter `index`."""
        return float(np.sqrt(max(0.0, self.covariance[index, index])))


@dataclass(frozen=True)
class Wheels:
    """Both wheels of a bicycle, as they are heard.

    Parameters
    ----------
    ratio, ratio_u : float
        Log of the rear wheel's treads per metre over the front's, and its standard uncertainty.
    fading : float
        How many times as fast as with distance the level falls, in decibels.
    fading_told : float
        By how much that is likelier than a level that does not fall (nats).
    gain : float
        By how much two wheels are likelier than one (nats).
    waver : float
        Standard deviation of the speed within the pass (fraction of it).
    coherence_s : float
        Over how long each keeps its phase (s).
    follows_told : float
        By how much a pitch that follows the speed is likelier than one that is its own (nats),
        where nobody said what it is.
    """

    ratio: float
    ratio_u: float
    fading: float
    fading_told: float
    gain: float
    waver: float = 0.0
    coherence_s: float = 0.0
    follows_told: float = math.inf


@dataclass(frozen=True)
class Drift:
    """How fast a tone drifts.

    Parameters
    ----------
    per_s, u : float
        Share of its pitch a second, and the standard uncertainty.
    """

    per_s: float
    u: float

    @property
    def clear(self) -> bool:
        """Whether it is worth a sentence."""
        return abs(self.per_s) > CLEAR_IN_U * self.u


@dataclass(frozen=True)
class Choice:
    """The fits made, the preferred one first.

    Parameters
    ----------
    fits : tuple of ModelFit
        Preferred first, then those the data cannot rule out.
    constant, accelerated : ModelFit or None
        The pair of fixed-pitch or speed-tied fits for the constant-speed test.
    blocks : Blocks
        The envelopes they were made on.
    reflection : Reflection or None
        What was taken off them.
    pulses : Pulses or None
        When the tone sounds, of one that is interrupted.
    wheels : Wheels or None
        How they differ, where both of a bicycle's are heard.
    drift : Drift or None
        Of the pitch of a tone, if it does.
    astray_m : float
        How far a source that keeps its phase may stray from a straight line (m); 0 if nothing
        hints at it.
    otherwise : Choice or None
        What is less likely, but stands where the shape of a passing speaks against this.
    """

    fits: tuple[ModelFit, ...]
    constant: ModelFit | None
    accelerated: ModelFit | None
    blocks: Blocks
    reflection: Reflection | None = None
    pulses: Pulses | None = None
    wheels: Wheels | None = None
    drift: Drift | None = None
    astray_m: float = 0.0
    otherwise: Choice | None = None
