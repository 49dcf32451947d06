"""The last fit of a coherent source: everything that is heard, over the whole stretch at once.

Harmonics too faint to be seen before the curve was known are let in, stretches where the tone
is switched off are left out, and the level counts where it follows the distance. A pass of a
few cycles is fitted on the samples (`wayside.measure.waveform`), and so is a loud one that takes
few samples, for there a touch of one harmonic in the blocks of another outweighs the noise; any
other on blocks. Where the level does not follow the distance, the phase alone decides: the level
that is to be expected is then held, or it would stop a climb along a ridge of the phase's.
"""

from __future__ import annotations

import numpy as np

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.evenness import made_even
from wayside.measure.ladder import CONSTANT, Rung, gains_of
from wayside.measure.loudness import follows_distance, seen
from wayside.measure.phases import sounding
from wayside.measure.planes import REACH
from wayside.measure.polished import Polished, whole_fit
from wayside.measure.refine import Refined, Sound, blocks_of, fine_block, near_of
from wayside.measure.rivals import summits
from wayside.measure.waveform import Waveform
from wayside.physics.passby import PassBy

HEARD_SHARE = 0.98
# noise alone gains this much in one window once in a thousand times
LET_IN = 7.0
HIGHEST, BEYOND = 12, 2
BRIEF_CYCLES = 15.0
# loud enough for one harmonic to be heard in the blocks of another
LOUD_GAIN = 350.0
MOST_NUMBERS = 3e5
# fits with the level held, each at what the one before found
TURNS = 3
# an end of the sound farther from the passing (crossing times) is too faint to matter; at one
# closer a block is lost, for a low-pass cut short lets other harmonics in, if enough remain
NEAR_END, LOST_BLOCKS, LEAST_BLOCKS = 3.5, 1, 16


def polish(sound: Sound, start: Refined, job: Job = QUIET) -> Polished:
    """Return the maximum-likelihood fit of a coherent source over the whole stretch."""
    p = start.passby
    near = near_of(sound, p)
    blocks = _whole_blocks(near, p, start.harmonics, fine_block(p, near))
    rung = whole_fit(blocks, p)
    job.check()
    more = _fainter(near, rung.passby, blocks)
    if more:
        harmonics = tuple(sorted((*start.harmonics, *more)))
        blocks = _whole_blocks(near, p, harmonics, fine_block(p, near))
        rung = whole_fit(blocks, rung.passby)
    job.check()
    even = made_even(near, rung.passby, blocks.numbers, near.stop_s - near.start_s)
    if even is not near:
        near = even
        blocks = _whole_blocks(near, rung.passby, blocks.numbers, blocks.block_s)
        rung = whole_fit(blocks, rung.passby)
    job.check()
    heard = sounding(blocks, rung.passby)
    whole = float(np.mean(heard)) >= HEARD_SHARE
    if not whole:
        # a tone that is off for a while says nothing meanwhile, and must not seem to
        blocks = blocks.where(heard)
        rung = whole_fit(blocks, rung.passby)
    full = whole_fit(blocks, rung.passby, level=True)
    brief = whole and _brief(full.passby)
    job.check()
    if brief or follows_distance(blocks, full):
        loud = whole and full.gain > LOUD_GAIN
        if not (brief or (loud and _few(near, full.passby, blocks))):
            return Polished(full, blocks, True)
        wave, finest = _waveform(near, full.passby, blocks)
        departs = seen(wave.departure(finest))
        if brief and departs:
            # on a wrong maximum the level seems to depart from 1/r
            other = summits(Polished(finest, blocks, True, wave, brief), job)[0].passby
            wave, finest = wave.settled(other)
            departs = seen(wave.departure(finest))
        if not departs:
            return Polished(finest, blocks, True, wave, brief)
    return _by_phase_alone(near if whole else None, rung, blocks)


def _by_phase_alone(near: Sound | None, rung: Rung, blocks: Blocks) -> Polished:
    """Return the fit in which the level, which is not what distance makes it, has no say.

    Where `near`, of which the blocks are all, ends while the tone is loud, they are made again
    along the fit: an envelope that turns is seen askew where the filter is cut short.
    """
    for _ in range(TURNS):
        if near is not None and any(_near_ends(near, rung.passby)):
            blocks = _whole_blocks(near, rung.passby, blocks.numbers, blocks.block_s)
        held = blocks.by_phase_alone(rung.passby)
        rung = whole_fit(held, rung.passby)
    return Polished(rung, held, False)


def _near_ends(near: Sound, p: PassBy) -> tuple[bool, bool]:
    """Return whether the tone is still loud where the sound begins and where it ends."""
    reach = NEAR_END * p.closest_m / p.speed_mps
    heard = p.heard_passing_s
    return heard - near.start_s < reach, near.stop_s - heard < reach


def _whole_blocks(near: Sound, p: PassBy, harmonics: tuple[int, ...], block_s: float) -> Blocks:
    """Return the envelopes, without those cut short by an end at which the tone is loud."""
    blocks = blocks_of(near, p, harmonics, block_s)
    first, last = (LOST_BLOCKS if loud else 0 for loud in _near_ends(near, p))
    count = blocks.times_s.size
    return blocks.between(first, count - last) if count - first - last >= LEAST_BLOCKS else blocks


def _brief(p: PassBy) -> bool:
    return p.source_hz * p.closest_m / p.speed_mps < BRIEF_CYCLES


def _few(near: Sound, p: PassBy, blocks: Blocks) -> bool:
    """Whether all samples can be fitted in little time."""
    count = blocks.harmonics.size
    samples = (near.stop_s - near.start_s) * 2.0 * _top_hz(p, blocks)
    return samples * (2 * count + len(CONSTANT)) < MOST_NUMBERS


def _top_hz(p: PassBy, blocks: Blocks) -> float:
    """Return up to where the samples are fitted."""
    return 1.2 * int(blocks.harmonics.max()) * p.approach_hz


def _waveform(near: Sound, p: PassBy, blocks: Blocks) -> tuple[Waveform, Rung]:
    harmonics = blocks.numbers
    low = near.below(_top_hz(p, blocks))
    samples = low.samples.astype(np.float64)
    times = low.start_s + np.arange(samples.size) / low.rate_hz
    if low.rate_hz < near.rate_hz:
        first, last = (REACH if loud else 0 for loud in _near_ends(near, p))
        inside = slice(first, samples.size - last)
        times, samples = times[inside], samples[inside]
    law = 1.0 if low.law is None else low.law.at(times)
    return Waveform(times, samples, harmonics, np.ones(1), 1.0, law).settled(p)


def _fainter(near: Sound, p: PassBy, blocks: Blocks) -> list[int]:
    """Return harmonics not yet let in that the whole stretch shows."""
    known = {int(k) for k in blocks.harmonics}
    top = 0.42 * near.rate_hz / p.approach_hz
    others = [
        k for k in range(1, min(HIGHEST, max(known) + BEYOND) + 1) if k not in known and k < top
    ]
    if not others:
        return []
    more = _whole_blocks(near, p, tuple(others), blocks.block_s)
    gains = gains_of(more, p, np.zeros(1, dtype=np.intp))
    return [k for k, gain in zip(others, gains, strict=True) if gain > LET_IN]
