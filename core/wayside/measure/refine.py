"""From a found glide to a refined pass-by: the ladder climbed from several starts.

Returns the best constant-speed, fixed-pitch pass-by, its harmonics, and how coherent the
source proved to be: over how long a window its envelope still adds up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.comb import Comb
from wayside.measure.course import Course
from wayside.measure.demod import Blocks, demodulate
from wayside.measure.ladder import (
    RUNG_ENOUGH,
    Rung,
    climb,
    climb_all,
    climb_on,
    glide_gain,
)
from wayside.measure.lines import harmonic_series
from wayside.measure.midway import Midway
from wayside.measure.motion import from_curve
from wayside.measure.planes import reduced
from wayside.measure.search import Candidate
from wayside.measure.swarm import swarm
from wayside.physics.passby import PassBy

F32 = npt.NDArray[np.float32]
FloatArray = npt.NDArray[np.float64]

MOST_BLOCKS = 3000
COHERENT_SHARE = 0.8
# by so many of its uncertainties the gain of short windows may be chance, as may the level of the
# noise it is counted from; of a source told to be a tone, which keeps its phase, by more
CHANCE, CHANCE_OF_TONE = 2.0, 3.0
WEAK_GAIN, FAINT_GAIN, FAINT_STARTS = 3000.0, 350.0, 24
# which of the curves the swarm ends in are climbed, by rank
SUMMITS = (0, 1, 2, 4, 8, 16, 32)
# only so many of the other starts are followed further up than so many rungs
LOW_RUNGS, MOST_FOLLOWED = 3, 8
MOST_MACH = 0.4
# a loud tone whose phase is not kept is followed from slower starts too
LOUD_GAIN, SLOWER = 5000.0, (0.3, 0.1)
# a curve that explains less than this share of what was seen is another one by chance
EXPLAINED = 0.02
# below this gain over a steady tone (nats) the whole pass is asked, so many crossing times
FAINT_GLIDE, WHOLE_PASS = 100.0, 6.0
LEAST_S = 0.25
# other starts tried when the evidence is thin: factors on speed and distance
STARTS = ((0.75, 0.56), (1.35, 1.8), (1.0, 0.4), (0.7, 0.2), (1.0, 2.5))


@dataclass(frozen=True)
class Sound:
    """The stretch of sound a pass-by is fitted to.

    Parameters
    ----------
    samples : ndarray, shape (n,), float32
    rate_hz, start_s : float
    law : Course or None
        By how much a tone in it is louder than its distance would make it.
    evened : Course or None
        What it was multiplied by to make the background even.
    midway : Midway or None
        How two channels were brought together in it.
    unsteady : tuple of bool
        Whether the source had another speed before it begins, and after it ends.
    """

    samples: F32
    rate_hz: float
    start_s: float
    law: Course | None = None
    evened: Course | None = None
    midway: Midway | None = None
    unsteady: tuple[bool, bool] = (False, False)

    @property
    def stop_s(self) -> float:
        """Time just after the last sample (s)."""
        return self.start_s + self.samples.size / self.rate_hz

    def below(self, top_hz: float) -> Sound:
        """Return the sound at the lowest whole-factor rate that keeps pitches to `top_hz`."""
        factor = max(1, int(self.rate_hz * 0.42 // max(top_hz, 300.0)))
        samples = reduced(self.samples, factor)
        return replace(self, samples=samples, rate_hz=self.rate_hz / factor)

    def cut(self, start_s: float, stop_s: float) -> Sound:
        """Return the part between two times."""
        first = max(0, int((start_s - self.start_s) * self.rate_hz))
        last = min(self.samples.size, int((stop_s - self.start_s) * self.rate_hz))
        start = self.start_s + first / self.rate_hz
        return replace(self, samples=self.samples[first:last], start_s=start)


class LostError(Exception):
    """A glide that led nowhere; the message is a clause that says why."""


@dataclass(frozen=True)
class Refined:
    """A refined pass-by.

    Parameters
    ----------
    passby : PassBy
        Constant speed, fixed pitch, best over all windows the source is coherent for.
    harmonics : tuple of int
    gain : float
        Evidence over noise at that window length (nats).
    glide_gain : float
        How much better the curve does than the best steady tone (nats): the statistic of
        the detection.
    coherent : bool
        True when the source stayed coherent over the whole pass.
    window_s : float
        Longest window over which it was.
    """

    passby: PassBy
    harmonics: tuple[int, ...]
    gain: float
    glide_gain: float
    coherent: bool
    window_s: float


def span_of(p: PassBy) -> float:
    """Return how far to either side of the passing the sound is worth fitting (s)."""
    return float(np.clip(12.0 * p.closest_m / p.speed_mps, 3.0, 40.0))


def near_of(sound: Sound, p: PassBy) -> Sound:
    """Return the sound worth fitting about a passing."""
    return sound.cut(p.passing_time_s - span_of(p), p.passing_time_s + span_of(p))


def refine(
    sound: Sound, found: Candidate, comb: Comb, c: float, job: Job, tone: bool = False
) -> Refined:
    """Refine a found glide on the full sound.

    Parameters
    ----------
    sound : Sound
        The stretch around the glide, at full rate.
    found : Candidate
        Curve of one line.
    comb : Comb
        Other lines along it that the search planes showed.
    c : float
        Speed of sound (m/s).
    job : Job
    tone : bool
        Whether it is known to be a tone.
    """
    chance = CHANCE_OF_TONE if tone else CHANCE
    p = from_curve(found.alpha_hz / comb.number, found.mach, found.s, found.tc, c)
    near = _heard_near(sound, p)
    rungs, blocks = _climbed(near, p, comb.harmonics, job)
    if rungs[-1].gain > LOUD_GAIN and not judged(rungs, blocks)[2]:
        slower = _slower(near, found, comb, c, job)
        if slower is not None and slower[0][-1].gain > rungs[-1].gain:
            rungs, blocks = slower
    job.step(0.5, "Following the harmonics")
    best, window, coherent = judged(rungs, blocks, chance)
    _check_possible(best, near)
    # a passing outside the recording still leaves one side to judge the harmonics on
    heard = float(np.clip(best.passing_time_s, near.start_s, near.stop_s))
    reach = float(np.clip(3.0 * best.closest_m / best.speed_mps, 0.4, 3.0))
    close = near.cut(heard - reach, heard + reach)
    # judged from the one line that was found, as the planes may have smeared it over others
    line = best.with_(source_hz=best.source_hz * comb.number)
    divisor, harmonics = harmonic_series(
        close.samples,
        close.rate_hz,
        close.start_s,
        line,
        min(window, close.stop_s - close.start_s),
        job=job,
    )
    p = line.with_(source_hz=line.source_hz / divisor)
    if divisor != comb.number or set(harmonics) - set(comb.harmonics):
        blocks = blocks_of(near, p, harmonics, fine_block(p, near))
        first = max(2, round(min(window, 0.5 * p.closest_m / p.speed_mps) / blocks.block_s))
        rungs = climb_all(blocks, p, first, job=job)
        if rungs[-1].gain < FAINT_GAIN:
            rungs = _best_of([rungs, climb_all(blocks, p, first, job, held=True)])
        p, window, coherent = judged(rungs, blocks, chance)
        _check_possible(p, near)
    floor = len(blocks.harmonics) * -(-blocks.times_s.size // rungs[-1].window_blocks)
    width = max(2, round(window / blocks.block_s))
    glide = glide_gain(blocks, p, width)
    if glide < FAINT_GLIDE and coherent:
        # a phase kept over the whole pass tells most against an even pitch
        glide = max(glide, glide_gain(blocks, p, width, WHOLE_PASS))
    gain = rungs[-1].gain - floor
    if max(gain, glide) < EXPLAINED * found.evidence:
        raise LostError("what is seen of it does not keep to the curve of a passing source")
    _heard_near(sound, p)
    return Refined(p, blocks.numbers, gain, glide, coherent, window)


def _heard_near(sound: Sound, p: PassBy) -> Sound:
    """Return the sound about a passing, or raise `LostError` where there is none."""
    near = near_of(sound, p)
    if near.stop_s - near.start_s < LEAST_S:
        # the curve passes long before the sound begins or after it ends
        raise LostError("the fall does not level out within the recording")
    return near


def _check_possible(p: PassBy, sound: Sound) -> None:
    """Raise `LostError` where the ladder ran away from anything the sound could hold."""
    crossing = p.closest_m / p.speed_mps
    length = sound.stop_s - sound.start_s
    if not (sound.start_s - length < p.passing_time_s < sound.stop_s + length):
        raise LostError("the fall does not level out within the recording")
    if crossing > 2.0 * length:
        raise LostError("the fall is too slow and even to be that of a passing source")
    if crossing < 1e-3:
        raise LostError("the pitch jumps instead of gliding")
    if p.speed_mps > MOST_MACH * p.sound_speed_mps:
        raise LostError("the pitch falls further than any passing could make it")


def judged(rungs: list[Rung], blocks: Blocks, chance: float = CHANCE) -> tuple[PassBy, float, bool]:
    """Return the pass-by of the longest coherent window, that window (s), and if it is all."""
    count = [-(-blocks.times_s.size // r.window_blocks) for r in rungs]
    net = np.array([r.gain - len(blocks.harmonics) * n for r, n in zip(rungs, count, strict=True)])
    # noise makes the gain of short windows uncertain; the bar allows for that
    most = count[int(np.argmax(net))]
    slack = chance * np.sqrt(len(blocks.harmonics) * (np.array(count) + most))
    share = (net + slack) / np.maximum(net.max(initial=1.0), 1.0)
    good = np.flatnonzero(share >= COHERENT_SHARE)
    last = int(good[-1]) if good.size else 0
    coherent = last == len(rungs) - 1
    width = min(rungs[last].window_blocks, blocks.times_s.size)
    return rungs[last].passby, width * blocks.block_s, coherent


def fine_block(p: PassBy, sound: Sound) -> float:
    """Return how long blocks should be that show all a pass says (s)."""
    crossing = p.closest_m / p.speed_mps
    block = min(crossing / 6.0, 0.05)
    # a brief pass needs blocks no longer than itself, down to a cycle
    return max(block, 1.0 / p.source_hz, (sound.stop_s - sound.start_s) / MOST_BLOCKS)


def blocks_of(sound: Sound, p: PassBy, harmonics: tuple[int, ...], block_s: float) -> Blocks:
    """Return the envelopes of a stretch at the lowest rate that holds its harmonics."""
    low = sound.below(1.1 * max(harmonics) * p.approach_hz + 2.0 / block_s)
    blocks = demodulate(low.samples, low.rate_hz, low.start_s, p, harmonics, block_s)
    law, evened = (
        None if course is None else course.at(blocks.times_s)
        for course in (sound.law, sound.evened)
    )
    return replace(blocks, law=law, evened=evened)


def _climbed_from(
    near: Sound, p: PassBy, harmonics: tuple[int, ...], job: Job
) -> tuple[list[Rung], Blocks, int]:
    """Return the ladder from `p`, its blocks, and of how many the first windows are."""
    mach = p.speed_mps / p.sound_speed_mps
    highest = max(harmonics) * p.source_hz
    crossing = p.closest_m / p.speed_mps
    # the curve found may be off by a third of the shift: blocks must pass that
    block = min(0.25 / (0.4 * highest * mach + 0.5), crossing / 4.0)
    block = max(block, 0.75 / p.source_hz, (near.stop_s - near.start_s) / MOST_BLOCKS)
    blocks = blocks_of(near, p, harmonics, block)
    first = max(2, round(0.5 / np.sqrt(highest * mach / crossing) / blocks.block_s))
    return climb_all(blocks, p, first, job=job), blocks, first


def _climbed(
    near: Sound, p: PassBy, harmonics: tuple[int, ...], job: Job
) -> tuple[list[Rung], Blocks]:
    best, blocks, first = _climbed_from(near, p, harmonics, job)
    if best[-1].gain < WEAK_GAIN:
        best = _best_of([best, *_others(blocks, p, first, STARTS, job)])
    if best[-1].gain < FAINT_GAIN:
        best = _best_of([best, _swarmed(blocks, p, first, job)])
    if best[-1].gain < FAINT_GAIN and not judged(best, blocks)[2]:
        rng = np.random.default_rng(7)
        scattered = [tuple(np.exp(rng.normal(0.0, (0.4, 0.8)))) for _ in range(FAINT_STARTS)]
        moves = rng.normal(0.0, 1.0, (FAINT_STARTS, 2))
        best = _best_of([best, *_others(blocks, p, first, scattered, job, moves)])
    return best, blocks


def _slower(
    near: Sound, found: Candidate, comb: Comb, c: float, job: Job
) -> tuple[list[Rung], Blocks] | None:
    """Return the climb from a slower start, as brief, on which a phase is kept throughout.

    Where a loud tone stands still for most of the recording, only short windows show its fall,
    and their blur makes it look steeper than it is.
    """
    for share in SLOWER:
        job.check()
        pitch = found.alpha_hz / comb.number
        p = from_curve(pitch, share * found.mach, found.s, found.tc, c)
        rungs, blocks, _ = _climbed_from(near, p, comb.harmonics, job)
        if judged(rungs, blocks)[2]:
            return rungs, blocks
    return None


def _swarmed(blocks: Blocks, p: PassBy, first: int, job: Job) -> list[Rung]:
    """Return the ladder about the best summit that many curves at once lead to."""
    width = 2 * blocks.times_s.size
    curves = swarm(blocks, p, job)
    tops = []
    for place in SUMMITS:
        job.check()
        if place < len(curves):
            tops.append(climb(blocks, curves[place], width, enough=RUNG_ENOUGH))
    top = max(tops, key=lambda rung: rung.gain).passby if tops else p
    return climb_all(blocks, top, first, job, held=True)


def _best_of(climbs: list[list[Rung]]) -> list[Rung]:
    return max(climbs, key=lambda rungs: rungs[-1].gain)


def _others(
    blocks: Blocks,
    p: PassBy,
    first: int,
    factors: Sequence[tuple[float, float]],
    job: Job,
    moves: FloatArray | None = None,
) -> list[list[Rung]]:
    """Climb from other speeds and distances, and with `moves` other pitches and times."""
    crossing = p.closest_m / p.speed_mps
    shift = p.source_hz * p.speed_mps / p.sound_speed_mps
    low = []
    for number, (faster, farther) in enumerate(factors):
        job.step(0.2, "Trying other starts")
        q = p.with_(speed_mps=p.speed_mps * faster, closest_m=p.closest_m * farther)
        if moves is not None:
            q = q.with_(
                source_hz=p.source_hz + 0.4 * shift * moves[number, 0],
                passing_time_s=p.passing_time_s + crossing * moves[number, 1],
            )
        low.append(climb_all(blocks, q, first, job, LOW_RUNGS))
    low.sort(key=lambda rungs: -rungs[-1].gain)
    return [climb_on(blocks, rungs, job) for rungs in low[:MOST_FOLLOWED]]
