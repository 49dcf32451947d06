"""The whole way from a recording to a measurement."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.linalg import LinAlgError

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.measure.asked import BY_KIND, Asked, Both, loud_tyre, never
from wayside.measure.assemble import as_fit
from wayside.measure.autogain import unlevelled
from wayside.measure.bicycle import BEATS_DB, FARTHEST_M, FASTEST_MPS, both_wheels, strayed_db
from wayside.measure.channel_words import told_by_channels
from wayside.measure.fitted import DECISIVE, Choice, ModelFit
from wayside.measure.follow import faintest_db, track_of
from wayside.measure.gusts import gustiness, heard_alone
from wayside.measure.hunt import Sighting, hunt, sound_between, straightened
from wayside.measure.models import fit_models
from wayside.measure.motion import to_vector
from wayside.measure.options import SOURCE_KINDS, MeasureOptions
from wayside.measure.others import Band, with_others
from wayside.measure.outset import level_is_even
from wayside.measure.phasefit import Priors
from wayside.measure.readings import (
    KEPT_SHARE,
    THRESHOLD,
    as_series,
    best_first,
    part_of_mimic,
    same_source,
    shadowed,
)
from wayside.measure.reasons import why_nothing, why_rejected
from wayside.measure.refine import LostError, Refined, Sound, near_of, span_of
from wayside.measure.remarks import limits_of, warnings_of
from wayside.measure.result import Detection, Measurement, Track, TwoWindow
from wayside.measure.shape import (
    BEATS,
    COMES_AND_GOES,
    ELSEWHERE,
    OPEN,
    UNFOLLOWED,
    Shape,
    judge_shape,
)
from wayside.measure.snatches import in_snatches
from wayside.measure.staging import FAST_MPS, may_be_treads
from wayside.measure.steady import kept_steady
from wayside.measure.stereo import refined_in
from wayside.measure.windows import two_window, window_places
from wayside.sound.recording import Recording

SIGHTING = 12.0
FALSE_ALARM_RATE = 0.005
LEAST_LENGTH_S = 0.3
TRIED = 4
# a glide fainter than this is asked whether a gust made it, or a voice (nats)
FAINT = 300.0
# a wheel's phase that strays by more, as a share of half the shift, was not kept
MOST_STRAY = 0.2
# what nobody said is a bicycle must have a speed of at least so many uncertainties
BICYCLE_IN_U = 3.0


@dataclass(frozen=True)
class Found:
    """One sighting followed to the end."""

    sound: Sound
    refined: Refined
    choice: Choice
    track: Track
    shape: Shape


@dataclass(frozen=True)
class _Look:
    """What came of following sightings: reasons against the others, evidence, most explained."""

    chosen: Found | None
    rejected: tuple[str, ...]
    evidence: float
    explained: float


def measure(
    recording: Recording,
    options: MeasureOptions | None = None,
    job: Job = QUIET,
    others: bool = True,
    both: Asked | None = None,
) -> Measurement:
    """Find and measure the pass-by in a recording.

    Parameters
    ----------
    recording : Recording
        See `wayside.sound.media.load_recording`.
    options : MeasureOptions, optional
        Hints and prior knowledge.
    job : Job, optional
        Progress and cancellation.
    others : bool
        Whether to look for further passes, which are told in a warning each.
    both : callable, optional
        Whether a hum whose phase cannot be followed may be that of both wheels of a bicycle,
        see `Asked`; if not given, what is told to be a wheel may, and what rises and falls.

    Returns
    -------
    Measurement
        With ``found`` False and the reason when the sound does not support an answer.

    Raises
    ------
    InputError
        If the options make no sense for this recording.
    Cancelled
        If the job was cancelled.
    """
    options = options or MeasureOptions()
    start, stop = _stretch(recording, options)
    _check(recording, options)
    both = both or BY_KIND[options.source_kind]
    sightings = hunt(
        recording, start, stop, options.band_hz, options.sound_speed.value, job.part(0.0, 0.4)
    )
    best = max((s.evidence for s in sightings), default=0.0)
    if best < SIGHTING:
        return _nothing(options, best, why_nothing(sightings), start, stop)
    look = _look_at(recording, options, sightings, start, stop, both, job)
    if look.chosen is None:
        # so loud a tone may have been seen too roughly to be followed
        again = straightened(recording, start, stop, options.band_hz, sightings, job)
        if again:
            closer = _look_at(recording, options, again, start, stop, both, job, look.explained)
            look = replace(look, chosen=closer.chosen)
            sightings = [*sightings, *again]
    chosen = look.chosen
    if chosen is None:
        return _nothing(options, look.evidence, look.rejected[0], start, stop)
    job.step(0.97, "Reading the two windows")
    result = _result(recording, options, chosen, start, stop)
    if not others:
        return result

    def between(after: float, before: float, own: bool, band: Band | None) -> Measurement:
        job.step(0.98, "Looking at a further pass")
        within = replace(options, start_s=max(start, after), stop_s=min(stop, before))
        if not own:
            within = replace(within, approach_window_s=None, recede_window_s=None)
        if band is not None:
            within = replace(within, band_hz=band)
        # a tone beside the first is told in a sentence: for that one phase has to do, as it has
        # for what does not rise and fall beside it, which is how riders get up speed and brake
        both = loud_tyre if band is None else never
        return measure(recording, within, Job(cancelled=job.cancelled), others=False, both=both)

    tyres = chosen.choice.wheels is not None
    result = with_others(result, sightings, THRESHOLD, between, tyres)
    job.step(0.99, "Comparing the channels")
    told = told_by_channels(recording, chosen.refined, chosen.choice, result, options, job)
    return replace(result, warnings=(*result.warnings, *told))


def _look_at(
    recording: Recording,
    options: MeasureOptions,
    sightings: list[Sighting],
    start: float,
    stop: float,
    both: Asked,
    job: Job,
    explained: float = 0.0,
) -> _Look:
    """Follow sightings to the end until one is a pass-by.

    Those that explain no more than `explained` nats are left out, or a share of it if they keep
    their phase: what explains less than a reading that was refused does not mend it.
    """
    c, tone = options.sound_speed.value, options.source_kind == "tone"
    untold = options.source_kind == "unknown"
    rejected: list[str] = []
    chosen: Found | None = None
    best = max(s.evidence for s in sightings)
    clear = [s for s in sightings if s.evidence >= SIGHTING]
    tried = [s for s in clear if s.together] + [s for s in clear if not s.together][:TRIED]
    followed: list[tuple[Sighting, Refined, Sound]] = []
    for number, sighting in enumerate(tried):
        part = job.part(0.4 + 0.3 * number / len(tried), 0.4 + 0.3 * (number + 1) / len(tried))
        if followed and same_source(sighting, followed[0][1]):
            continue
        try:
            refined, sound = refined_in(recording, sighting, (start, stop), c, part, tone)
            refined, sound = kept_steady(sound, refined, sighting, c, part, options.source_kind)
        except LostError as lost:
            rejected.append(why_rejected(sighting, str(lost)))
            continue
        if THRESHOLD < refined.glide_gain < FAINT and heard_alone(refined):
            gust = gustiness(sound, refined.passby, refined.harmonics)
            refined = replace(refined, glide_gain=refined.glide_gain / gust)
        if refined.gain > explained * (KEPT_SHARE if refined.coherent else 1.0):
            followed.append((sighting, refined, sound))
    most = max((f[1].gain for f in followed), default=0.0)
    refused: list[Refined] = []
    mimics: list[Refined] = []
    fitted = False
    best = max((f[1].glide_gain for f in followed), default=best)
    followed = best_first(followed)
    treads = as_series(followed)
    if options.source_kind == "wheel":
        followed = treads
    for (sighting, refined, sound), (_, series, _) in zip(followed, treads, strict=True):
        if refined.glide_gain < THRESHOLD:
            rejected.append(why_rejected(sighting, "too faintly to be sure of it"))
            continue
        if shadowed(refined, refused) or part_of_mimic(refined, mimics):
            continue
        fault, say_so = ELSEWHERE, False
        if not level_is_even(sound, refined):
            asked = both(sound, series)
            say_so = untold and bool(asked)
            # of what is likely a wheel the first is asked for both wheels anyway
            anyway = asked is Both.LIKELY and not fitted
            part = job.part(0.7, 0.95)
            try:
                found = _followed(refined, series, sound, options, bool(asked), anyway, part)
            except LinAlgError:
                rejected.append(why_rejected(sighting, UNFOLLOWED, tyre=say_so))
                continue
            if not found.shape.faults:
                chosen = found
                break
            fitted, fault = True, found.shape.faults[0]
        mimic = fault not in OPEN
        tyre = say_so and fault != BEATS
        rejected.insert(len(refused), why_rejected(sighting, fault, mimic, tyre))
        refused.append(refined)
        if mimic:
            mimics.append(refined)
        if len(refused) == TRIED:
            break
    return _Look(chosen, tuple(rejected), best, most)


def _stretch(recording: Recording, options: MeasureOptions) -> tuple[float, float]:
    first, last = recording.start_s, recording.start_s + recording.duration_s
    for name, time in (("start", options.start_s), ("end", options.stop_s)):
        if time is not None and not math.isfinite(time):
            raise InputError(f"The {name} of the stretch, {time}, is not a time; give seconds.")
    start = first if options.start_s is None else max(first, options.start_s)
    stop = last if options.stop_s is None else min(last, options.stop_s)
    if stop - start < LEAST_LENGTH_S:
        raise InputError(
            f"{recording.name}: the stretch from {start:.2f} s to {stop:.2f} s is shorter than "
            f"{LEAST_LENGTH_S} s (the sound runs from {first:.2f} s to {last:.2f} s); "
            "choose a longer one."
        )
    return start, stop


def _check(recording: Recording, options: MeasureOptions) -> None:
    if options.source_kind not in SOURCE_KINDS:
        raise InputError(
            f"The source kind {options.source_kind!r} is not known; use one of "
            f"{', '.join(SOURCE_KINDS)}."
        )
    c = options.sound_speed
    if not (math.isfinite(c.value) and 100.0 < c.value < 2000.0 and 0 <= c.u < 0.3 * c.value):
        raise InputError(
            f"The speed of sound, {c.value:g} ± {c.u:g} m/s, is out of range; "
            "give one between 100 and 2000 m/s."
        )
    for what, known in (
        ("distance to the track", options.closest),
        ("number of cycles per metre", options.cycles_per_metre),
    ):
        if known is not None and not (0 < known.value < math.inf and 0 < known.u < math.inf):
            raise InputError(
                f"The {what}, {known.value:g} ± {known.u:g} {known.unit}, cannot be used; "
                "give a value and an uncertainty above 0."
            )
    if options.band_hz is not None:
        low, high = options.band_hz
        if not 0 <= low < high:
            raise InputError(
                f"The pitch band {low:g} to {high:g} Hz is empty; give the lower pitch first."
            )
        if low >= 0.45 * recording.rate_hz:
            raise InputError(
                f"The pitch band {low:g} to {high:g} Hz lies above what {recording.name} holds "
                f"({0.45 * recording.rate_hz:.0f} Hz); choose a lower band."
            )


def _followed(
    refined: Refined,
    series: Refined,
    sound: Sound,
    options: MeasureOptions,
    both: bool,
    anyway: bool,
    job: Job,
) -> Found:
    """Return the fits of one reading, judged.

    Of one that is refused, `anyway` asks for both wheels; `series` is the reading as that of a
    tread.
    """
    priors, kind = Priors.from_options(options), options.source_kind
    told = kind != "unknown"
    # what nobody told is asked once, as what is told to be a wheel
    both = both and (told or not anyway)
    found = None
    try:
        choice = fit_models(sound, refined, kind, priors, both, job.part(0.0, 0.5))
        found = _judged(refined, sound, choice, told)
        if found.shape.faults and choice.otherwise is not None:
            other = _judged(refined, sound, choice.otherwise, told)
            found = found if other.shape.faults else other
    except LinAlgError:
        if not anyway:
            raise
    own = None if found is None or found.shape.faults else found
    if anyway and (own is None or not _sure(own, told)):
        found = _as_bicycle(series, sound, priors, told, own, job.part(0.5, 1.0)) or found
    if found is None:
        raise LinAlgError
    return found


def _sure(found: Found, told: bool) -> bool:
    """Whether a fit of one phase need not be doubted.

    A wheel that keeps its phase keeps to its curve. Of what nobody said is a tone, a pitch that
    seems to be its own may follow a speed: then it loses its phase.
    """
    lead = found.choice.fits[0]
    p = lead.passby
    if p.speed_tied and lead.method == "coherent":
        return not found.shape.residual_share > MOST_STRAY
    if told or p.speed_mps > FAST_MPS or found.choice.pulses is not None:
        return True
    if p.speed_tied:
        return strayed_db(found.choice.blocks, p) < BEATS_DB
    braked = lead.unrest.any and p.acceleration_mps2 != 0.0
    return lead.method == "coherent" or not (lead.unrest.lasting or braked)


def _as_bicycle(
    refined: Refined, sound: Sound, priors: Priors, told: bool, own: Found | None, job: Job
) -> Found | None:
    """Return the fit of both wheels, None where there is none or it is no passing.

    What nobody said is a bicycle has to be as slow and as near as one, its speed known; a pitch
    of its `own` stays beside it where the sound cannot decide.
    """
    try:
        pair = both_wheels(sound, refined, priors, None, True, job, anyway=True, told=told)
        found = _judged(refined, sound, pair, True)
    except LinAlgError:
        return None
    p = pair.fits[0].passby
    near = p.speed_mps < FASTEST_MPS and p.closest_m < FARTHEST_M
    known = p.speed_mps > BICYCLE_IN_U * pair.fits[0].u(1)
    ridden = near and known and may_be_treads(p.source_hz, p.speed_mps)
    if found.shape.faults or not (told or ridden):
        return None
    assert pair.wheels is not None
    if own is None or pair.wheels.follows_told > DECISIVE:
        return found
    return replace(found, choice=replace(pair, fits=(*pair.fits, own.choice.fits[0])))


def _judged(refined: Refined, sound: Sound, choice: Choice, told: bool) -> Found:
    """Return a choice of fits with its track, and whether that has the shape of a passing."""
    for one in choice.fits:
        if not np.all(np.isfinite(to_vector(one.passby))):
            raise LinAlgError
    p, pulsed = choice.fits[0].passby, choice.pulses is not None
    track, frame = track_of(choice.blocks, p, pulsed)
    heard = unlevelled(track, near_of(sound, p), p)
    faintest = faintest_db(choice.blocks, frame)
    shape = judge_shape(choice.fits[0], heard, faintest, pulsed, choice.wheels, told)
    faint = refined.glide_gain < FAINT and choice.fits[0].method == "coherent"
    if faint and in_snatches(choice.blocks, p):
        shape = replace(shape, faults=(*shape.faults, COMES_AND_GOES))
    return Found(sound, refined, choice, track, shape)


def _result(
    recording: Recording,
    options: MeasureOptions,
    found: Found,
    start: float,
    stop: float,
) -> Measurement:
    c = options.sound_speed
    fits = [as_fit(m, c, found.track, options.clock_ppm) for m in found.choice.fits]
    beside = (found.choice.reflection, found.choice.pulses, found.choice.drift)
    if any(what is not None for what in beside):
        # coherent it is only with these told apart, which others do not do
        fits[0] = replace(fits[0], method="incoherent")
    span = span_of(fits[0].passby)
    reading = _two_window(recording, options, found, start, stop)
    first, last = _steady_ends(found.sound, start, stop)
    detection = Detection(
        found.refined.glide_gain,
        THRESHOLD,
        FALSE_ALARM_RATE,
        "A tone glides down along the curve of a passing source and is loudest at the passing.",
    )
    passing = fits[0].passby.passing_time_s
    return Measurement(
        found=True,
        detection=detection,
        sound_speed_mps=c,
        track=found.track,
        two_window=reading,
        fit=fits[0],
        alternatives=tuple(fits[1:]),
        limits=limits_of(fits[0], c, options, found.choice),
        warnings=warnings_of(recording, fits, found.choice, found.track, reading, found.sound),
        start_s=max(first, passing - span),
        stop_s=min(last, passing + span),
        midway=found.sound.midway,
    )


def _steady_ends(sound: Sound, start: float, stop: float) -> tuple[float, float]:
    """Return the times (s) between which the source is known to keep its speed."""
    before, after = sound.unsteady
    return sound.start_s if before else start, sound.stop_s if after else stop


def _two_window(
    recording: Recording, options: MeasureOptions, found: Found, start: float, stop: float
) -> TwoWindow | None:
    model: ModelFit = found.choice.fits[0]
    p = model.passby
    places = window_places(p, *_steady_ends(found.sound, start, stop))
    before, after = options.approach_window_s, options.recede_window_s
    if before is not None and after is not None:
        places = (before, after)
    elif places is not None:
        places = (before or places[0], after or places[1])
    if places is None:
        return None
    for low, high in places:
        if not (start <= low < high <= stop + 1e-6) or high - low < 0.02:
            raise InputError(
                f"The reading window from {low:.3f} s to {high:.3f} s does not lie within the "
                f"recording ({start:.2f} s to {stop:.2f} s); move it."
            )
    midway = found.sound.midway
    sound = sound_between(recording, min(places[0][0], places[1][0]), places[1][1], midway)
    length = 0.5 * (places[0][1] - places[0][0] + places[1][1] - places[1][0])
    # a pattern's pitch wavers with the speed, a fixed one only by its Doppler shift
    share = 1.0 if p.speed_tied else p.speed_mps / p.sound_speed_mps
    wobble = math.hypot(model.unrest.wobble_hz, model.unrest.waver * share * p.source_hz)
    wander = math.sqrt(2.0 * model.unrest.walk / length + wobble**2)
    return two_window(sound, places, p, _loudest(found), options.sound_speed, wander_hz=wander)


def _loudest(found: Found) -> int:
    blocks = found.choice.blocks
    return blocks.numbers[blocks.clearest]


def _nothing(
    options: MeasureOptions, statistic: float, reason: str, start: float, stop: float
) -> Measurement:
    return Measurement(
        found=False,
        detection=Detection(statistic, THRESHOLD, FALSE_ALARM_RATE, reason),
        sound_speed_mps=options.sound_speed,
        start_s=start,
        stop_s=stop,
    )
