"""Both wheels of a bicycle: when they are asked for, and the fit they lead to.

One tyre's hum keeps its strength but for distance. Two of the same make beat, and then their
phase cannot be followed. Where a hum beats, one wheel and two are fitted to the same envelopes,
without following any phase, and weighed against each other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure.along import LEAST_BLOCKS, wavering_blocks
from wayside.measure.autogain import gain_db
from wayside.measure.demod import Blocks
from wayside.measure.distortion import added
from wayside.measure.fitted import (
    DECISIVE,
    SURELY_FIXED,
    Choice,
    ModelFit,
    Wheels,
    at_other_sound_speed,
    in_units,
    shares_in,
)
from wayside.measure.mixture import mixed
from wayside.measure.motion import phase_model, to_vector
from wayside.measure.phasefit import ALL, Priors
from wayside.measure.refine import Refined, Sound, near_of
from wayside.measure.riding import MODES
from wayside.measure.staging import FAST_MPS, VEHICLE
from wayside.measure.twowheels import AT_RATIO, RATIO, Bicycle, Hum
from wayside.measure.unrest import Unrest
from wayside.measure.wheelclimb import (
    COHERENCE_KNOWN,
    STEPS,
    Summit,
    climb,
    climb_each,
    excess_shown,
    with_true_coherence,
)
from wayside.measure.wheelweigh import FEW, Both, keeps_its_phase, nearly_alike, others, weigh
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# a hum may beat whose level strays so far from that of one source (dB); one that strays so far
# fades too much for its phase to be trusted; judged where it stands so many times above the noise
BEATS_DB, FADES_DB, ABOVE_NOISE = 2.5, 4.5, 10.0
# blocks are looked at for so many crossing times, at least seconds; no more blocks than
REACH, LEAST_REACH_S, MOST_BLOCKS = 8.0, 1.5, 600
# turns of making the blocks along the fit
TURNS = 2
RATIOS, LOUDER, MOST_TOPS = (-0.006, 0.006), (-1.5, 1.5), 4
WIDE_RATIOS = (-0.014, *RATIOS, 0.014)
# a pitch that is open by more was not heard
MOST_OPEN_PITCH = 0.02
# what forgets its phase sooner is no tread's hum, but a hiss that a tyre colours (s)
LEAST_COHERENCE_S = 0.02
# starts that no rider is heard from
FASTEST_MPS, FARTHEST_M = 12.0, 8.0
# others are a usual speed at so many times a usual distance
NEARER = (0.5, 1.0, 2.0)
# so many times as fast, and with so many times the crossing time
ALONG = ((0.7, 0.8), (0.7, 1.0), (1.4, 1.0), (1.4, 1.25))
# what two wheels are more free in costs them more than so much of a lead (nats)
LEAST_LEAD = 3.0
GUESSED_COHERENCE = math.log(0.1)


class HissError(LinAlgError):
    """What is heard is no hum: no phase is to be followed, of one wheel or two."""


def strayed_db(blocks: Blocks, p: PassBy) -> float:
    """Return how far the level strays from 1/r where it is heard clearly, RMS (dB)."""
    law = blocks.spread(phase_model(p, blocks.times_s).spread) ** 2
    power = np.abs(blocks.z) ** 2
    noise = blocks.noise[:, None]
    usual = np.median(np.maximum(power - noise, 0.0) / law, axis=1)[:, None] * law
    clear = usual > ABOVE_NOISE * noise
    level = 10.0 * np.log10(np.maximum(power, 0.1 * noise) / np.maximum(usual, 0.1 * noise))
    spread = [float(np.std(row[use])) for row, use in zip(level, clear, strict=True) if use.any()]
    return float(np.median(spread)) if spread else 0.0


def fit_both(
    sound: Sound,
    start: Refined,
    p: PassBy,
    blocks: Blocks,
    priors: Priors,
    wheel: bool,
    job: Job,
    others_at: Sequence[PassBy] = (),
    unless_one: bool = False,
) -> Both:
    """Fit one wheel and two to a hum.

    Parameters
    ----------
    sound : Sound
    start : Refined
    p : PassBy
        Pitch tied to the speed.
    blocks : Blocks
        Along it.
    priors : Priors
    wheel : bool
        It is known to be a wheel.
    job : Job
    others_at : sequence of PassBy
        Where else to start from.
    unless_one : bool
        One wheel is not asked for: it ends as soon as two surely are no likelier.

    Raises
    ------
    LinAlgError
        If the envelopes tell nothing of the motion, or two wheels are no likelier.
    """
    if p.speed_mps > FASTEST_MPS or p.closest_m > FARTHEST_M:
        p = _as_usual(p, priors)
    job.step(0.4, "Fitting one wheel")
    alone = Hum(blocks, priors, 1)
    starts = dict.fromkeys([p, *others_at])
    steps = FEW if others_at else STEPS
    tops = climb_each(alone, [_guess(blocks, q) for q in starts], job, steps=steps)
    one = max(tops, key=lambda top: top.value)
    for _ in range(TURNS):
        # blocks as long as the source keeps its phase, which beats made seem shorter
        start = replace(start, window_s=math.exp(one.bicycle.coherence))
        blocks = _blocks_along(sound, start, one.bicycle.passby)
        one = climb(Hum(blocks, priors, 1), one.bicycle, job)
    job.step(0.6, "Fitting two wheels")
    pair = Hum(blocks, priors, 2)
    # lines so narrow that they are told apart are missed from a start between them
    ratios = WIDE_RATIOS if others_at or keeps_its_phase(one.bicycle) else RATIOS
    unlike = [
        replace(one.bicycle, ratio=ratio, louder=louder) for ratio in ratios for louder in LOUDER
    ]
    near = climb_each(pair, unlike, job, steps=FEW)
    near.sort(key=lambda top: -top.value)
    tops = climb_each(pair, [top.bicycle for top in near[:MOST_TOPS]], job)
    best = max(tops, key=lambda top: top.value).bicycle
    if others_at or keeps_its_phase(best):
        # two lines side by side may have led one wheel away
        tops += climb_each(pair, nearly_alike(pair, best, ALONG), job, steps=FEW)
    if unless_one and _surely_no_likelier(max(tops, key=lambda top: top.value), one):
        raise LinAlgError
    alone, (one,) = with_true_coherence(Hum(blocks, priors, 1), [one], job)
    both, tops = with_true_coherence(pair, others(tops), job)
    return weigh(alone, one, both, tops, wheel, job)


def _surely_no_likelier(two: Summit, one: Summit) -> bool:
    """Whether two wheels cannot win against one, however wide their summit.

    No larger a share of the log-likelihood will count than the scores' scatter leaves.
    """
    scatter = max(1.0, excess_shown(one), excess_shown(two))
    return two.value - one.value < LEAST_LEAD * scatter


def _as_usual(p: PassBy, priors: Priors) -> PassBy:
    return p.with_(speed_mps=priors.usual.speed_mps, closest_m=priors.likely_closest_m)


def _staged(p: PassBy, priors: Priors) -> list[PassBy]:
    """Return where else a rider may pass, whom one phase alone has not led to."""
    usual = _as_usual(p, priors)
    return [usual.with_(closest_m=by * usual.closest_m) for by in NEARER]


def _fixed(hum: Hum, best: Summit, p: PassBy, job: Job) -> Summit:
    """Return the fit of a pitch that is its own, at a speed as even as a rider's."""
    assert hum.priors.acceleration_mps2 is not None
    priors = replace(hum.priors, acceleration_mps2=(0.0, hum.priors.acceleration_mps2[1]))
    p = p.with_(speed_tied=False, acceleration_mps2=0.0)
    start = replace(best.bicycle, passby=p)
    return climb(replace(hum, priors=priors), start, job, best.share)


def both_wheels(
    sound: Sound,
    start: Refined,
    priors: Priors,
    single: Choice | None,
    wheel: bool,
    job: Job,
    anyway: bool = False,
    told: bool = True,
) -> Choice:
    """Return the fits of a hum in which both wheels of a bicycle may be heard.

    Parameters
    ----------
    sound : Sound
    start : Refined
    priors : Priors
        Distance and treads per metre, where known.
    single : Choice or None
        The fits of one source; None where its phase could not be followed.
    wheel : bool
        It is known to be a wheel, or must be one.
    job : Job
    anyway : bool
        Whether or not it beats: the fits of one source have been refused.
    told : bool
        Somebody said so. Otherwise its pitch must not surely be its own.

    Raises
    ------
    LinAlgError
        If nothing is heard of a bicycle, so that the fits of one source stand alone.
    HissError
        If they do not stand either.
    """
    p = start.passby
    if single is not None and not anyway and _within(sound, single.fits[0].passby):
        p = single.fits[0].passby
    fast = p.speed_mps > FAST_MPS
    p = p.with_(speed_tied=True)
    blocks = _blocks_along(sound, start, p)
    strayed = math.inf if single is None else strayed_db(blocks, p)
    if strayed < BEATS_DB and not anyway:
        raise LinAlgError
    if wheel:
        # of what may be none, lines that come and go speak for a voice or an engine
        start, blocks = _without_added(sound, start, p, blocks)
    held = replace(priors, acceleration_mps2=priors.usual.coasting_mps2, weak=True)
    if priors.cycles_per_metre is not None:
        # counted on one of the wheels, nobody knows which
        n, u = priors.cycles_per_metre
        held = replace(held, cycles_per_metre=(n, math.hypot(u, 0.5 * RATIO * n)))
    others_at = _staged(p, held) if anyway else ()
    # of what may be no wheel, one wheel alone is only asked for against a fit of fixed pitch
    fixed_leads = single is not None and not single.fits[0].passby.speed_tied
    unless_one = not wheel and not fixed_leads
    both = fit_both(sound, start, p, blocks, held, wheel, job, others_at, unless_one)
    if not wheel and not _called_for(both, unless_one, p, job):
        raise LinAlgError
    follows = math.inf if told else _follows(both, p, job)
    if follows < -SURELY_FIXED:
        raise LinAlgError
    if fast and _as_fast(both, p, job) > both.height:
        raise LinAlgError
    if math.exp(both.best.bicycle.coherence) < LEAST_COHERENCE_S:
        raise HissError
    choice = _choice(both, follows, job)
    model = choice.fits[0]
    if model.u(0) > MOST_OPEN_PITCH * model.passby.source_hz:
        # the phase is lost within a block, and only the level was fitted
        raise LinAlgError
    if single is None or not wheel or fast or anyway:
        return choice
    if keeps_its_phase(both.best.bicycle):
        # one phase has been followed amiss, if it says otherwise
        return replace(choice, otherwise=single)
    if not both.wavers and (both.gain > 0.0 or strayed > FADES_DB):
        return choice
    return replace(single, otherwise=choice)


def _called_for(both: Both, unless_one: bool, start: PassBy, job: Job) -> bool:
    """Whether a source of unknown kind is a bicycle.

    Its pitch has to follow the speed. Where one wheel is as likely, only a fit of fixed pitch has
    to give way: a voice or a melody that cannot be followed may look like one wheel.
    """
    if both.gain <= 0.0 and unless_one:
        return False
    summits = (both.best.bicycle.passby, start)
    return both.height > _as_fixed(both, both.alone, summits, job) + DECISIVE


def _follows(both: Both, start: PassBy, job: Job) -> float:
    """Return by how much a pitch that follows the speed is likelier than one of its own (nats).

    Of two sources as of one: a tone that is heard off the ground as well beats, too.
    """
    summit = both.best.bicycle.passby
    alone = _as_fixed(both, both.alone, (summit, start), job)
    return both.height - max(alone, _as_fixed(both, both.hum, (summit,), job))


def _as_fixed(both: Both, hum: Hum, starts: Sequence[PassBy], job: Job) -> float:
    """Return the height of the best fit of a pitch that is its own."""
    return max(_fixed(hum, both.best, p, job).part().height for p in starts)


def _as_fast(both: Both, p: PassBy, job: Job) -> float:
    """Return the height of a single wheel as fast and far as `p`, which no bicycle is."""
    hum = replace(both.alone, priors=replace(both.alone.priors, usual=VEHICLE))
    return climb(hum, _guess(hum.blocks, p), job, both.best.share).part().height


def _choice(both: Both, follows: float, job: Job) -> Choice:
    told = mixed([*both.two.parts, *both.one.parts], ALL)
    bicycle = both.best.bicycle
    p = told.passby
    model = ModelFit(
        p,
        in_units(told.covariance, p, ALL),
        "incoherent",
        replace(Unrest.forgetting(math.exp(bicycle.coherence)), waver=both.waver),
        told.height,
        _by_c(both, job),
        shares_in(told, ALL),
    )
    inverse = np.linalg.inv(both.best.information + both.best.known)
    wheels = Wheels(
        bicycle.ratio,
        float(np.sqrt(inverse[AT_RATIO, AT_RATIO])),
        bicycle.fading,
        both.fading_told,
        both.gain,
        both.waver,
        math.exp(bicycle.coherence),
        follows,
    )
    return Choice((model,), None, model, both.hum.blocks.unevened(), wheels=wheels)


def _by_c(both: Both, job: Job) -> FloatArray:
    """Return the derivative by the speed of sound, lengths that are known and all."""
    best = both.best
    p = best.bicycle.passby
    start, move = at_other_sound_speed(p)
    hum = replace(both.hum, coherence=(best.bicycle.coherence, COHERENCE_KNOWN))
    other = climb(hum, replace(best.bicycle, passby=start), job, best.share, FEW)
    return np.asarray((to_vector(other.bicycle.passby) - to_vector(p)) / move)


def _without_added(
    sound: Sound, start: Refined, p: PassBy, blocks: Blocks
) -> tuple[Refined, Blocks]:
    """Return start and envelopes without the lines that the recorder added, if not all are."""
    drop = added(blocks, p)
    if not drop.any() or drop.all():
        return start, blocks
    kept = tuple(k for k, lost in zip(blocks.numbers, drop, strict=True) if not lost)
    start = replace(start, harmonics=kept)
    return start, _blocks_along(sound, start, p)


def _within(sound: Sound, p: PassBy) -> bool:
    """Return True where the passing is heard; beating, one phase may lead to another."""
    return sound.start_s < p.heard_passing_s < sound.stop_s


def _blocks_along(sound: Sound, start: Refined, p: PassBy) -> Blocks:
    """Return the envelopes along `p`, a recorder's gain taken off where it shows."""
    if not _within(sound, p):
        raise LinAlgError
    reach = max(REACH * p.closest_m / p.speed_mps, LEAST_REACH_S)
    blocks = wavering_blocks(sound, replace(start, passby=p))
    near = np.flatnonzero(np.abs(blocks.times_s - p.heard_passing_s) < reach)
    if near.size < LEAST_BLOCKS:
        raise LinAlgError
    blocks = blocks.between(int(near[0]), int(near[-1]) + 1).thinned(MOST_BLOCKS)
    gain = gain_db(near_of(sound, p), p, blocks.times_s)
    if gain is None:
        return blocks
    by = np.asarray(10.0 ** (-gain / 20.0))
    return replace(blocks, z=blocks.z * by, evened=by)


def _guess(blocks: Blocks, p: PassBy) -> Bicycle:
    spread = phase_model(p, blocks.times_s).spread
    power = (np.mean(np.abs(blocks.z) ** 2, axis=1) - blocks.noise) / np.mean(spread**2)
    power = np.log(np.maximum(power, 0.01 * blocks.noise))
    none = np.zeros(power.size)
    steady = np.zeros(MODES)
    return Bicycle(p, 0.0, 0.0, 1.0, 0.0, 0.0, GUESSED_COHERENCE, 0.0, steady, power, none, none)
