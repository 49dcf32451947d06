"""Blocks of a source that wavers, and those of a wheel along its own curve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wayside.jobs import Job
from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, edges_of, gains_of
from wayside.measure.phasefit import Priors, fit_phase
from wayside.measure.phases import TWO_PI, clear_run, track_phase
from wayside.measure.refine import Refined, Sound, blocks_of, near_of
from wayside.measure.wheelstart import as_ridden, ridden
from wayside.physics.passby import PassBy

ACCELERATED = (*CONSTANT, 4)
USABLE_PHASE_RAD = 0.7
LEAST_BLOCKS = 24
# a block longer than a harmonic keeps its phase damps that phase's walk
PARTS_OF_WINDOW, LONGEST_BLOCK_S = 8.0, 0.025
# turns of demodulating along the fit before, while blocks blur by so much or more
TURNS, BLURRED_CYCLES = 2, 0.05
ALIASED_CYCLES = 0.5
# so many blocks far clear of the noise, and a phase that is lost and found again so many times
LOUD_RATIO, MOST_LOUD, MOST_SWITCHES = 20.0, 96, 16
# of genuine hums a turn leaves two fifths and more of what was explained
STILL_THERE = 0.2


def wavering_blocks(sound: Sound, start: Refined) -> Blocks:
    """Return blocks no longer than the source keeps its phase."""
    p = start.passby
    crossing = p.closest_m / p.speed_mps
    block = min(start.window_s / PARTS_OF_WINDOW, crossing / 5.0, LONGEST_BLOCK_S)
    block = max(block, 2.5 / p.source_hz)
    block = max(block, 0.004)
    return blocks_of(near_of(sound, p), p, start.harmonics, block)


def broken(blocks: Blocks, p: PassBy) -> bool:
    """Whether a loud tone loses its phase over and over, as one that jumps or trills does."""
    ratio = np.abs(blocks.z) ** 2 / blocks.noise[:, None]
    loud = int(np.count_nonzero(ratio.max(axis=0) > LOUD_RATIO))
    clear = np.sqrt(track_phase(blocks, p).noise) < USABLE_PHASE_RAD / TWO_PI
    switches = int(np.count_nonzero(np.diff(clear)))
    return loud > MOST_LOUD and switches > MOST_SWITCHES


def holds(blocks: Blocks, p: PassBy) -> bool:
    """Whether blocks can hold a source like `p`.

    One that turns half a cycle and more from block to block against their reference looks like
    another that turns the other way.
    """
    off = np.abs(p.pitch(blocks.times_s) - blocks.reference.pitch(blocks.times_s))
    return bool(float(np.max(off)) * blocks.block_s < ALIASED_CYCLES)


def along_its_own(
    sound: Sound, start: Refined, p: PassBy, blocks: Blocks, priors: Priors, job: Job
) -> tuple[PassBy, Blocks]:
    """Return a wheel's pass-by and its blocks along it.

    The search knows fixed pitches alone; blocks along such a curve blur a pitch that falls with
    the speed, and lose its phase where they part.
    """
    coasting = replace(priors, acceleration_mps2=priors.usual.coasting_mps2, weak=True)
    for _ in range(TURNS):
        first, last = clear_run(blocks, p, USABLE_PHASE_RAD)
        if last - first < LEAST_BLOCKS:
            break
        used = blocks.between(first, last)
        if not ridden(p):
            p = as_ridden(used, p, coasting)
        fit = fit_phase(used, p, ACCELERATED, coasting, job=job)
        if not blocks.times_s[0] < fit.passby.passing_time_s < blocks.times_s[-1]:
            break
        off = np.abs(fit.passby.pitch(blocks.times_s) - p.pitch(blocks.times_s))
        if float(np.max(off)) * blocks.block_s < BLURRED_CYCLES:
            p = fit.passby
            break
        along = wavering_blocks(sound, replace(start, passby=fit.passby))
        if _explained(along, fit.passby, start) < STILL_THERE * _explained(blocks, p, start):
            # a turn too many in every block leads to a pitch at which there is nothing
            break
        p, blocks = fit.passby, along
    return p, blocks


def _explained(blocks: Blocks, p: PassBy, start: Refined) -> float:
    """Return what `p` explains over windows in which the phase is kept (nats)."""
    edges = edges_of(blocks, p, max(2, round(start.window_s / blocks.block_s)))
    return float(np.sum(gains_of(blocks, p, edges)))
