"""The fits of a source that keeps its phase from end to end.

A tone may drift in pitch and still keep its phase (see `wayside.measure.drift`); what it is fitted
on has the drift counted to the reference.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure.along import ACCELERATED, LEAST_BLOCKS, USABLE_PHASE_RAD
from wayside.measure.astray import may_stray
from wayside.measure.breadth import part_of
from wayside.measure.demod import Blocks
from wayside.measure.doubt import (
    LEAST_SHARE,
    LOOSER,
    LOOSER_SHARE,
    OF_THE_KEPT,
    averaged,
    share_of_wavering,
    under,
)
from wayside.measure.drift import State, drifting_tone, may_drift
from wayside.measure.fitted import (
    DECISIVE,
    Choice,
    Drift,
    ModelFit,
    in_units,
    scaling,
    shares_in,
)
from wayside.measure.keeping import keeps_its_phase
from wayside.measure.ladder import CONSTANT, Rung, moved
from wayside.measure.mixture import Mixture, mixed, widened
from wayside.measure.phasefit import Priors, fit_phase
from wayside.measure.phases import clear_run
from wayside.measure.polish import polish
from wayside.measure.polished import Polished
from wayside.measure.posterior import sampled
from wayside.measure.refine import Refined, Sound
from wayside.measure.reflection import REFLECTED, left_of_both, left_of_one
from wayside.measure.rivals import is_faint, with_rivals
from wayside.measure.unrest import QUIET as NO_UNREST
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

ANY_ACCELERATION = (0.0, 1.0)
# a step that asks for more than e^2 times a speed or a pitch has left what it was linear about
FARTHEST = 2.0


@dataclass(frozen=True)
class _Told:
    """What a source that seems to keep its phase is fitted on, and what that tells.

    Parameters
    ----------
    as_heard, polished : Polished
        Without and with the noise that the tone brings itself, a drift counted to the reference.
    maxima : Mixture
        Of constant speed.
    height : float
        Log of their weights together, beside an accelerated one: neither strays.
    summit : PassBy
        The highest of them.
    steady : Polished
        As heard, a drift left in.
    drift : Drift or None
        That of the pitch, if it does.
    dearer : float
        What the freedom to drift costs (nats).
    astray_m : float
        How far one who may stray from a straight line does, if that is hinted at.
    """

    as_heard: Polished
    polished: Polished
    maxima: Mixture
    height: float
    summit: PassBy
    steady: Polished
    drift: Drift | None
    dearer: float
    astray_m: float = 0.0

    @property
    def drifting(self) -> State | None:
        """The pass-by, and how fast the pitch drifts."""
        return None if self.drift is None else (self.summit, self.drift.per_s)


def coherent_choice(
    sound: Sound, start: Refined, kind: str, priors: Priors, job: Job
) -> tuple[Choice | None, PassBy, Blocks, State | None]:
    """Return the fits of a source that keeps its phase, and what to go on from where it does not.

    Parameters
    ----------
    sound : Sound
    start : Refined
    kind : str
        ``"tone"``, ``"wheel"`` or ``"unknown"``.
    priors : Priors
    job : Job

    Returns
    -------
    choice : Choice or None
        None where it only seemed to keep its phase.
    best : PassBy
        At constant speed.
    blocks : Blocks
        The envelopes as heard.
    drifting : tuple or None
        As what it may drift.
    """
    told = _told(sound, start, kind, job)
    best, blocks = told.maxima.passby, told.steady.blocks.with_level()
    lost = None, best, blocks, told.drifting
    if told.drift is not None and _rather_reflected(told, job):
        return lost
    if not keeps_its_phase(told.as_heard, told.summit, priors, kind, job):
        return lost
    if kind != "wheel" and not told.polished.brief:
        ride = may_stray(told.polished, told.summit, priors, job)
        if ride is not None and ride.told:
            return lost
        if ride is not None and ride.hinted:
            strays = ride.fit.unrest.weave_m
            told = replace(told, maxima=ride.beside(told.maxima), astray_m=strays)
    choice = _fits(told, kind, priors, job)
    lead = choice.fits[0].passby
    # what turns out to be a wheel is asked as one
    asked = kind == "unknown" and lead.speed_tied
    if asked and not keeps_its_phase(told.steady, lead, priors, "wheel", job):
        return lost
    return choice, best, blocks, None


def _told(sound: Sound, start: Refined, kind: str, job: Job) -> _Told:
    """Return what the maximum-likelihood fit tells of a source, and of a tone whether it drifts."""
    steady = as_heard = polish(sound, start, job)
    job.check()
    moving = None if kind == "wheel" or steady.brief else may_drift(steady, job)
    drift = None
    if moving is not None and moving.polished is not None:
        as_heard, drift = moving.polished, moving.drift
    polished = as_heard.with_own_noise()
    maxima = with_rivals(polished, job)
    summit, dearer = maxima.parts[0], 0.0
    if polished.brief and is_faint(polished):
        maxima = sampled(polished, maxima, job) or maxima
    elif drift is not None:
        held = summit.height
        summit = drifting_tone(polished, summit.passby, job).part
        maxima, dearer = mixed([summit], CONSTANT), summit.height - held
    elif moving is not None:
        maxima = widened(maxima, moving.part, CONSTANT)
    return _Told(as_heard, polished, maxima, maxima.height, summit.passby, steady, drift, dearer)


def _rather_reflected(told: _Told, job: Job) -> bool:
    """Whether what seems to drift is heard off the ground as well, whose fringes turn the phase."""
    drifting, steady = told.as_heard.blocks.with_level(), told.steady.blocks.with_level()
    left = min(left_of_both(blocks, told.summit, job) for blocks in (drifting, steady))
    return left_of_one(drifting, told.summit) > left + REFLECTED


def _fits(told: _Told, kind: str, priors: Priors, job: Job) -> Choice:
    """Return the fits of a coherent source; that of constant speed may average over maxima."""
    job.step(0.6, "Testing for constant speed")
    polished, maxima, summit = told.polished, told.maxima, told.summit
    if kind == "wheel":
        tied = _ridden(polished, _accelerated(polished, summit, True, priors), priors, job)
        return Choice((tied,), None, tied, polished.blocks.as_heard())
    base = ModelFit(
        maxima.passby,
        in_units(maxima.covariance, maxima.passby, CONSTANT),
        "coherent",
        NO_UNREST,
        told.height,
        scaling(maxima.passby),
        shares_in(maxima, CONSTANT),
    )
    fits = [base]
    accelerated = _accelerated(polished, summit, False, priors)
    accelerated = replace(accelerated, evidence=accelerated.evidence + told.dearer)
    if accelerated.evidence > base.evidence + DECISIVE:
        fits = [accelerated]
    drift = told.drift
    if kind == "unknown":
        job.check()
        # a pitch that follows the speed has no other drift
        still = polished if drift is None else told.steady.with_own_noise()
        tied = _accelerated(still, summit, True, priors)
        if tied.evidence > fits[0].evidence - DECISIVE:
            surely = tied.evidence > fits[0].evidence + DECISIVE
            tied = _ridden(still, tied, priors, job)
            fits = [*fits, tied]
            if surely:
                fits, polished, drift = [tied], still, None
    blocks = polished.blocks.as_heard()
    return Choice(tuple(fits), base, accelerated, blocks, drift=drift, astray_m=told.astray_m)


def _accelerated(polished: Polished, start: PassBy, tied: bool, priors: Priors) -> ModelFit:
    p = start.with_(speed_tied=tied)
    rung = polished.climb(p, ACCELERATED, steps=25)
    if not tied:
        return _known(rung, replace(priors, acceleration_mps2=ANY_ACCELERATION))
    mean, sd = priors.usual.coasting_mps2
    held = replace(priors, acceleration_mps2=(mean, sd))
    loose = replace(priors, acceleration_mps2=(mean, LOOSER * sd))
    fits = [_known(rung, held), _known(rung, loose, math.log(LOOSER_SHARE))]
    return max(fits, key=lambda fit: fit.evidence)


def _ridden(polished: Polished, tied: ModelFit, priors: Priors, job: Job) -> ModelFit:
    """Return the fit of a wheel that keeps its phase, averaged over how it may have been ridden.

    Speed, distance and passing may bend to a waver, and a phase seems kept all the same.
    """
    p = tied.passby
    blocks = polished.blocks.with_level()
    first, last = clear_run(blocks, p, USABLE_PHASE_RAD)
    if last - first < LEAST_BLOCKS:
        return tied
    used = blocks.between(first, last)
    known = replace(priors, acceleration_mps2=priors.usual.coasting_mps2)
    try:
        even = fit_phase(used, p, ACCELERATED, known, NO_UNREST, near=True, job=job)
        fits = [even, *under(used, even, known, OF_THE_KEPT[1:], job)]
    except LinAlgError:
        return tied
    if share_of_wavering(fits, OF_THE_KEPT) < LEAST_SHARE:
        return tied
    average = averaged(fits, OF_THE_KEPT, lambda fit, belief: [part_of(fit, belief.share)])
    q = average.passby
    covariance = in_units(average.covariance, q, ACCELERATED)
    parts = shares_in(average, ACCELERATED)
    return replace(tied, passby=q, covariance=covariance, by_c=scaling(q), parts=parts)


def _known(rung: Rung, known: Priors, belief: float = 0.0) -> ModelFit:
    """Return a fit with prior knowledge brought in; `belief` is the log of its prior weight."""
    q = rung.passby
    rows, values, u = known.rows(q, ACCELERATED)
    a, b = rows[:, :-1] / u[:, None], values / u
    information = 2.0 * rung.normal + a.T @ a
    covariance = _inverse(information)
    # one Gauss-Newton step brings the prior knowledge in; noise may leave no peak to step from
    q = moved(q, covariance @ (a.T @ b), ACCELERATED, most=FARTHEST)
    density = belief - float(np.sum(np.log(u))) - 0.5 * float(b @ b)
    evidence = rung.gain + density + _occam(information)
    return ModelFit(
        q, in_units(covariance, q, ACCELERATED), "coherent", NO_UNREST, evidence, scaling(q)
    )


def _inverse(matrix: FloatArray) -> FloatArray:
    # pinv: a tone too weak to move one parameter must not stop the others
    return np.asarray(np.linalg.pinv(matrix, rcond=1e-14, hermitian=True), dtype=np.float64)


def _occam(information: FloatArray) -> float:
    return -0.5 * float(np.linalg.slogdet(information)[1])
