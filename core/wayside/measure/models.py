"""The final fits: which source model, coherent or not, and how sure.

Three models compete: *fixed* pitch at constant speed, *fixed* pitch with acceleration, and
*speed-tied* pitch with acceleration (a wheel pattern, whose falling pitch would otherwise pass
for Doppler shift). Evidence is compared by restricted likelihood with the acceleration's prior
integrated out, so a model pays for the freedom it has (Kass and Raftery 1995, *J. Amer.
Statist. Assoc.* 90, 773).
"""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure import along
from wayside.measure.along import ACCELERATED, LEAST_BLOCKS, USABLE_PHASE_RAD
from wayside.measure.bicycle import HissError, both_wheels
from wayside.measure.breadth import parts_of
from wayside.measure.coherent import ANY_ACCELERATION, coherent_choice
from wayside.measure.demod import Blocks
from wayside.measure.doubt import (
    SURE,
    Belief,
    averaged,
    beliefs_of,
    under,
)
from wayside.measure.drift import State, averaged_with_drift
from wayside.measure.evenness import made_even
from wayside.measure.fitted import (
    DECISIVE,
    SURELY_FIXED,
    Choice,
    Drift,
    ModelFit,
    among_five,
    at_other_sound_speed,
    in_units,
    scaling,
    shares_in,
)
from wayside.measure.incoherent import fit_wandering
from wayside.measure.interrupted import Pulses, pulses_of
from wayside.measure.ladder import CONSTANT, scale_of
from wayside.measure.mixture import Mixture, Part
from wayside.measure.motion import to_vector
from wayside.measure.phasefit import Beside, PhaseFit, Priors, fit_phase, one_step
from wayside.measure.phases import clear_run
from wayside.measure.refine import Refined, Sound, blocks_of, near_of
from wayside.measure.reflection import REFLECTED, Reflection, find_reflection
from wayside.measure.staging import FAST_MPS, RIDER, VEHICLE, usual_of
from wayside.measure.unrest import MOST_BOUNDED, Unrest
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# a phase as far off as that of the sum of two waves can be (cycles) was not followed
LOST = 0.95 * MOST_BOUNDED
METHODS = {False: "incoherent", True: "coherent"}
# a fit further from what was heard than this share of the drop, within so many crossing times
DRAWN_AWAY, AROUND = 0.25, 2.0
# an engine sounds a series of lines; a fast line that wavers alone may be two notes' of a chord
ENGINE_LINES = 3


@dataclass(frozen=True)
class _Fitted:
    """The fit of a model, and its summit, from which its mean may lie far off, and if it is steady.

    `blocks` are those it was made on, `beside` is what else turned the phase, `drift` that of a
    tone which does.
    """

    model: ModelFit
    summit: PassBy
    steady: PassBy
    blocks: Blocks
    beside: Beside | None = None
    drift: Drift | None = None


# blocks to look for a reflection in, and those that are fitted, from where, what else turns them,
# how they drift
_Heard = tuple[Blocks, Blocks, PassBy, Beside | None, Drift | None]


def fit_models(
    sound: Sound, start: Refined, kind: str, priors: Priors, both: bool, job: Job
) -> Choice:
    """Fit the models that the source kind calls for.

    Parameters
    ----------
    sound : Sound
    start : Refined
    kind : str
        ``"tone"``, ``"wheel"`` or ``"unknown"``.
    priors : Priors
        Distance and treads per metre, where known.
    both : bool
        Whether a hum whose phase cannot be followed may be that of both wheels of a bicycle.
    job : Job
    """
    single = None
    if kind == "tone" or start.coherent or not both:
        single = _fit_kind(sound, start, kind, priors, job)
        lead = single.fits[0]
        if not (lead.passby.speed_tied and both) or lead.method == "coherent":
            return single
    else:
        with suppress(LinAlgError):
            single = _fit_kind(sound, start, kind, priors, job)
    if kind != "wheel" and single is not None and single.fits[0].passby.speed_mps > FAST_MPS:
        return single
    try:
        return both_wheels(sound, start, priors, single, kind == "wheel", job)
    except LinAlgError as lost:
        if single is None or isinstance(lost, HissError):
            raise
        return single


def _fit_kind(sound: Sound, start: Refined, kind: str, priors: Priors, job: Job) -> Choice:
    """Return the fits of one source of a kind, a vehicle's where it is one."""
    vehicle = replace(priors, usual=VEHICLE)
    try:
        choice = _fit_models(sound, start, kind, priors, job)
    except LinAlgError:
        engine = len(start.harmonics) >= ENGINE_LINES and not start.coherent
        if not engine or usual_of(start.passby, start.glide_gain) is RIDER:
            raise
        # it cannot be followed as a rider
        return _fit_models(sound, start, kind, vehicle, job)
    fit = choice.fits[0]
    if fit.method == "coherent" or len(start.harmonics) < ENGINE_LINES:
        return choice
    nats, p = start.glide_gain, fit.passby
    if usual_of(start.passby, nats) is RIDER or not _left(p, start.passby):
        if usual_of(p, nats) is RIDER:
            return choice
        if not sound.start_s < p.heard_passing_s < sound.stop_s:
            # nor is a passing heard that a vehicle's could be looked for about
            return choice
        # what passed for a rider was none
        start = replace(start, passby=p.with_(speed_tied=False, acceleration_mps2=0.0))
    again = _fit_models(sound, start, kind, vehicle, job)
    p = again.fits[0].passby
    fast = usual_of(p, nats) is VEHICLE and not _left(p, start.passby)
    return again if fast else choice


def _left(fit: PassBy, heard: PassBy) -> bool:
    """Return True for a fit that was drawn away from the pitch that was heard."""
    crossing = heard.closest_m / heard.speed_mps
    times = heard.heard_passing_s + crossing * np.linspace(-AROUND, AROUND, 21)
    off = np.max(np.abs(fit.pitch(times) - heard.pitch(times)))
    return bool(off > DRAWN_AWAY * (heard.approach_hz - heard.recede_hz))


def _fit_models(sound: Sound, start: Refined, kind: str, priors: Priors, job: Job) -> Choice:
    job.step(0.0, "Fitting the curve")
    if start.coherent:
        choice, best, blocks, drifting = coherent_choice(sound, start, kind, priors, job)
        if choice is not None:
            return choice
        wheel = best.with_(speed_tied=True)
    else:
        best, drifting = start.passby, None
        pulsed = None if kind == "wheel" else _pulsed_choice(sound, start, priors, job)
        if pulsed is not None:
            return pulsed
        if kind == "tone":
            sound = made_even(near_of(sound, best), best, start.harmonics, start.window_s)
        wheel, blocks = best.with_(speed_tied=True), along.wavering_blocks(sound, start)
        if kind != "tone":
            wheel, blocks = along.along_its_own(sound, start, wheel, blocks, priors, job)
    close = start.coherent or kind == "tone"
    return _unquiet_choice(blocks, best, wheel, kind, priors, job, close, drifting=drifting)


def _pulsed_choice(sound: Sound, start: Refined, priors: Priors, job: Job) -> Choice | None:
    """Return the fits of a tone in pulses, None where there are none or they cannot be followed.

    What throbs may be taken for pulses, and be followed throughout.
    """
    choice = None
    for _ in range(along.TURNS):
        pulses = pulses_of(sound, start)
        if pulses is None:
            return None
        p = start.passby
        blocks = blocks_of(near_of(sound, p), p, start.harmonics, pulses.block_s)
        try:
            choice = _unquiet_choice(blocks, p, p, "tone", priors, job, False, pulses)
        except LinAlgError:
            return None
        assert choice.constant is not None
        q = choice.constant.passby
        if not blocks.times_s[0] < q.passing_time_s < blocks.times_s[-1]:
            break
        off = np.abs(q.pitch(pulses.starts_s) - p.pitch(pulses.starts_s))
        if float(np.max(off)) * pulses.block_s < along.BLURRED_CYCLES:
            break
        start = replace(start, passby=q)
    lost = choice is None or max(choice.fits[0].unrest.sway, choice.fits[0].unrest.echo) > LOST
    return None if lost else choice


def _unquiet_choice(
    blocks: Blocks,
    best: PassBy,
    wheel: PassBy,
    kind: str,
    priors: Priors,
    job: Job,
    close: bool,
    pulses: Pulses | None = None,
    drifting: State | None = None,
) -> Choice:
    """Return the fits of a source that wavers, from a start of fixed pitch and one of a wheel.

    A tone may be `drifting` from another start. With `close` its phase may well keep to the curve
    of the fixed pitch. With `pulses` it is heard in these alone, each at a phase of its own.
    """
    first, last = clear_run(blocks, wheel, USABLE_PHASE_RAD)
    clear = pulses is not None or last - first >= LEAST_BLOCKS
    if not clear and along.broken(blocks, wheel):
        raise LinAlgError
    used = blocks.between(first, last) if clear else blocks.thinned(240)
    beside = None
    if pulses is not None:
        used = pulses.in_step(pulses.within(blocks), best, job)
        beside = pulses.beside(used, best)
    priors = replace(priors, strays=kind == "tone")
    known = replace(priors, acceleration_mps2=ANY_ACCELERATION, weak=True)
    coasting = replace(priors, acceleration_mps2=priors.usual.coasting_mps2, weak=True)

    def fitted(
        on: Blocks,
        p: PassBy,
        free: tuple[int, ...],
        prior: Priors,
        beside: Beside | None = None,
        drift: Drift | None = None,
    ) -> _Fitted:
        """Return the fit of a model, of a fixed pitch and an even speed one that may drift.

        With `drift` it is known to, and `beside` holds how.
        """
        if clear:
            fit = fit_phase(on, p, free, prior, job=job, beside=beside)
            if close and not p.speed_tied:
                # a fringe may turn the phase so fast that a cycle is lost in following it
                other = fit_phase(on, p, free, prior, near=True, job=job, beside=beside)
                fit = max(fit, other, key=lambda one: one.loglik)
            by_c, steady = _by_c(on, fit, prior), fit.passby
            if free == CONSTANT and drift is None and pulses is None and fit.unrest.lasting:
                both = averaged_with_drift(on, fit, prior, beside, drifting, job)
                average, fit, on = both.mixture, both.fit, both.blocks
                beside, drift = both.beside, both.drift
            else:
                average = _doubted(on, fit, prior, beside, job)
            model = ModelFit(
                average.passby,
                in_units(average.covariance, average.passby, free),
                _method(fit, beside),
                fit.unrest,
                average.height if along.holds(on, fit.passby) else -math.inf,
                by_c,
                shares_in(average, free),
            )
            return _Fitted(model, fit.passby, steady, on, beside, drift)
        job.check()
        lost = fit_wandering(on, p, free, prior)
        scale = scale_of(p)[list(free)]
        logdet = np.linalg.slogdet(lost.covariance / np.outer(scale, scale))[1]
        evidence = lost.loglik + 0.5 * float(logdet)
        if prior.acceleration_mps2 and 4 in free:
            evidence -= float(np.log(prior.acceleration_mps2[1] / p.speed_mps))
        model = ModelFit(
            lost.passby,
            among_five(lost.covariance, free),
            "incoherent",
            Unrest.forgetting(lost.line.coherence_s),
            evidence,
            scaling(lost.passby),
        )
        return _Fitted(model, lost.passby, lost.passby, on)

    tied = None
    if kind in ("wheel", "unknown"):
        job.step(0.3, "Fitting a pitch tied to the speed")
        tied = fitted(used, wheel, ACCELERATED, coasting).model
    if kind == "wheel":
        assert tied is not None
        return _possible(Choice((tied,), None, tied, used.as_heard()))
    job.step(0.6, "Fitting a fixed pitch")
    loosely = replace(priors, weak=True)
    even = fitted(used, best, CONSTANT, loosely, beside)
    reflection = None
    if clear:
        job.step(0.7, "Listening for a reflection off the ground")
        if pulses is not None:
            used = pulses.in_step(used, even.summit, job)
        heard: list[_Heard] = [(used if pulses else blocks, used, even.steady, beside, None)]
        if even.drift is not None:
            heard.append((even.blocks, even.blocks, even.summit, even.beside, even.drift))
        for whole, part, start, own, drift in heard:
            for found in _reflections(whole, start, job):
                taken_off, turned = found.removed(part), found.beside(part)
                if own is not None:
                    turned = turned.and_also(own.columns, own.u)
                direct = fitted(taken_off, found.passby, CONSTANT, loosely, turned, drift)
                least = REFLECTED if reflection is None else 0.0
                if direct.model.evidence > even.model.evidence + least:
                    even, reflection = direct, found
    constant, on = even.model, even.blocks
    accelerated = fitted(on, even.summit, ACCELERATED, known, even.beside).model
    fixed = constant if constant.evidence > accelerated.evidence - DECISIVE else accelerated
    alone = Choice(
        (fixed,), constant, accelerated, on.as_heard(), reflection, pulses, drift=even.drift
    )
    bar = SURELY_FIXED if priors.usual is RIDER else DECISIVE
    if tied is None or tied.evidence <= fixed.evidence - bar:
        return _possible(alone)
    # the broader answer leads when the data cannot decide
    open_ = tied.evidence <= fixed.evidence + DECISIVE
    both = replace(alone, fits=(tied, fixed) if open_ else (tied,), drift=None)
    likelier = tied.evidence < fixed.evidence - DECISIVE
    return _possible(replace(both, otherwise=alone) if likelier else both)


def _possible(choice: Choice) -> Choice:
    """Return the choice unless its first fit is none that the blocks can hold."""
    if math.isinf(choice.fits[0].evidence):
        raise LinAlgError
    return choice


def _reflections(blocks: Blocks, p: PassBy, job: Job) -> list[Reflection]:
    """Return reflections that may be heard, told from the level as it was made even and before."""
    levels = [blocks] if blocks.evened is None else [blocks, blocks.as_heard()]
    found = (find_reflection(level, p, job) for level in levels)
    return [one for one in found if one is not None]


def _method(fit: PhaseFit, beside: Beside | None) -> str:
    # what seemed to lose its phase may only have been heard twice
    kept = beside is not None and not fit.unrest.any
    return METHODS[kept]


def _doubted(
    blocks: Blocks, fit: PhaseFit, priors: Priors, beside: Beside | None, job: Job
) -> Mixture:
    """Return a fit averaged over what the sound leaves open: a wheel's over how it was ridden."""
    beliefs = beliefs_of(fit.unrest.coherence_s) if fit.passby.speed_tied else (SURE,)

    def cut(one: PhaseFit, belief: Belief) -> list[Part]:
        known = belief.applied(priors)
        return parts_of(blocks, one, known, belief.share, beside, job)

    return averaged([fit, *under(blocks, fit, priors, beliefs[1:], job)], beliefs, cut)


def _by_c(blocks: Blocks, fit: PhaseFit, priors: Priors) -> FloatArray:
    """Return the derivative by the speed of sound, prior knowledge in metres and all."""
    p = fit.passby
    if priors.closest_m is None and priors.cycles_per_metre is None:
        return scaling(p)
    start, move = at_other_sound_speed(p)
    other = one_step(blocks, fit, start, priors)
    return np.asarray((to_vector(other) - to_vector(p)) / move)
