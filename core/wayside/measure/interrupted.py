"""A tone that sounds in regular pulses, as an alarm's buzzer does.

Between its pulses nothing is heard, and a buzzer may begin each of them at a phase of its own.
The pulses are told from the level along the glide against what distance makes of it: on or off,
with the same period throughout in the source's own time. Each pulse then has a phase of its own,
left open as a parameter of the fit, so that the curve is told by how the phase turns within
pulses alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import Beside
from wayside.measure.phases import TWO_PI, weighted_quantile
from wayside.measure.refine import Refined, Sound, blocks_of, near_of
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

# slow pulses are looked for first, and then those that need finer blocks
BLOCKS_S, LEAST_CYCLES = (0.008, 0.004), 4.0
# power against that of a pulse where its distance is: an echo of it lasts into the silence
ON_SHARE, OFF_SHARE = 0.15, 0.08
# a tenth of the time, by how loud it should be, is sound
LOUDEST = 0.9
# blocks are asked in which a pulse would stand so far clear of the noise (a ratio of powers)
CLEAR = 30.0
LEAST_BLOCKS = 3
# what is so much shorter than most of its kind is a fringe, or a crackle
SHORT_SHARE = 0.33
LEAST_PULSES, LEAST_PRESENT, MOST_PULSES = 4, 0.7, 60
# starts keep to their beat to this share of it, and to this long
OFF_BEAT, OFF_BEAT_S = 0.03, 0.012
# the ends of a pulse hold its rise, its fall and what came by a longer way
MARGIN_BLOCKS = 2.5
# phases of pulses are left open by so many cycles, which is all there is and more
OPEN_CYCLES = 3.0
# how far a pulse's pitch is looked for, in cycles a block, and how finely, in cycles a pulse
OFF_CYCLES, STEP_CYCLES = 0.3, 0.2


@dataclass(frozen=True)
class Pulses:
    """When a regularly interrupted tone is heard.

    Parameters
    ----------
    starts_s, stops_s : ndarray, shape (n,)
        On the recording's clock (s).
    block_s : float
        Length of blocks that show them (s).
    """

    starts_s: FloatArray
    stops_s: FloatArray
    block_s: float

    def number(self, times_s: FloatArray) -> npt.NDArray[np.intp]:
        """Return in which pulse each time lies, -1 for none, shape of `times_s`."""
        at = np.searchsorted(self.starts_s, times_s, side="right") - 1
        inside = (at >= 0) & (times_s <= self.stops_s[np.maximum(at, 0)])
        return np.where(inside, at, -1)

    def within(self, blocks: Blocks) -> Blocks:
        """Return the blocks in which a pulse is heard."""
        return blocks.where(self.number(blocks.times_s) >= 0)

    def in_step(self, blocks: Blocks, p: PassBy, job: Job = QUIET) -> Blocks:
        """Return blocks within pulses, each harmonic of each turned to no phase at its middle.

        The pitch of a pulse may be off that of `p`; how far is asked of all harmonics at once.
        """
        y = blocks.turned(phase_model(p, blocks.times_s).cycles)
        k = blocks.harmonics.astype(np.float64)
        z = blocks.z.copy()
        number = self.number(blocks.times_s)
        for one in np.unique(number):
            job.check()
            inside = number == one
            since = blocks.times_s[inside] - np.mean(blocks.times_s[inside])
            most = OFF_CYCLES / blocks.block_s / float(k.max())
            step = STEP_CYCLES / (np.ptp(since) + blocks.block_s) / float(k.max())
            off = np.arange(-most, most + step, step)
            turns = TWO_PI * np.outer(since, off)
            total = np.array(
                [row @ np.exp(-1j * n * turns) for n, row in zip(k, y[:, inside], strict=True)]
            )
            best = int(np.argmax(np.sum(np.abs(total) ** 2 / blocks.noise[:, None], axis=0)))
            z[:, inside] *= np.exp(-1j * np.angle(total[:, [best]]))
        return replace(blocks, z=z)

    def beside(self, blocks: Blocks, p: PassBy) -> Beside:
        """Return the pulses' own phases, as what else turns the phase of `blocks`."""
        number = self.number(blocks.times_s)
        columns = (number[:, None] == np.unique(number)[None, 1:]).astype(np.float64)
        u = np.full(columns.shape[1], OPEN_CYCLES)
        return Beside(columns, u, p, np.zeros((blocks.times_s.size, 5)))


def pulses_of(sound: Sound, start: Refined) -> Pulses | None:
    """Return the pulses of a regularly interrupted tone, None for any other.

    Parameters
    ----------
    sound : Sound
    start : Refined
        The glide seen, good enough to stay within its lines.
    """
    least = LEAST_CYCLES / start.passby.source_hz
    blocks = (max(block, least) for block in BLOCKS_S)
    found = (_pulses_in(sound, start, block) for block in dict.fromkeys(blocks))
    return next((pulses for pulses in found if pulses is not None), None)


def _pulses_in(sound: Sound, start: Refined, block_s: float) -> Pulses | None:
    p = start.passby
    blocks = blocks_of(near_of(sound, p), p, start.harmonics, block_s)
    spread2 = phase_model(p, blocks.times_s).spread ** 2
    power = np.sum(np.abs(blocks.z) ** 2 - blocks.noise[:, None], axis=0)
    noise = float(np.sum(blocks.noise))
    level = power / spread2
    # far blocks hold noise alone: each counts by how loud the tone should be there
    on = level > ON_SHARE * weighted_quantile(level, spread2, LOUDEST)
    loud = weighted_quantile(level[on], spread2[on], 0.5) if np.any(on) else 0.0
    heard = loud * spread2 > CLEAR * noise
    if np.count_nonzero(heard) < LEAST_PULSES * 2 * LEAST_BLOCKS:
        return None
    first, last = np.flatnonzero(heard)[[0, -1]]
    level = level[first : last + 1]
    times = blocks.times_s[first : last + 1]
    on = ~_without_short(~_without_short(level > ON_SHARE * loud))
    if np.all(on) or float(np.median(level[~on])) > OFF_SHARE * loud:
        return None
    runs, count = ndimage.label(on)
    places = ndimage.find_objects(runs)
    half = 0.5 * blocks.block_s
    starts = np.array([times[one[0].start] - half for one in places])
    stops = np.array([times[one[0].stop - 1] + half for one in places])
    # what the stretch cuts has no start of its own
    whole = np.array([one[0].start > 0 for one in places])
    if count < LEAST_PULSES or not _regular(np.asarray(p.emission_time(starts[whole]))):
        return None
    margin = MARGIN_BLOCKS * blocks.block_s
    kept = stops - starts > 2.0 * margin + LEAST_BLOCKS * blocks.block_s
    if np.count_nonzero(kept) < LEAST_PULSES:
        return None
    near = np.abs(0.5 * (starts + stops) - p.passing_time_s)
    kept &= near <= np.sort(near)[:MOST_PULSES][-1]
    return Pulses(starts[kept] + margin, stops[kept] - margin, blocks.block_s)


def _without_short(heard: BoolArray) -> BoolArray:
    """Return `heard` with its runs taken out that are much shorter than most of it lies in."""
    runs, count = ndimage.label(heard)
    if count == 0:
        return heard
    lengths = np.bincount(runs.ravel()).astype(np.float64)
    lengths[0] = 0.0
    usual = weighted_quantile(lengths[1:], lengths[1:], 0.5)
    return np.asarray(lengths[runs] >= max(LEAST_BLOCKS, SHORT_SHARE * usual))


def _regular(starts_s: FloatArray) -> bool:
    """Whether events keep to one beat, of which some may be missing."""
    if starts_s.size < LEAST_PULSES:
        return False
    beat = float(np.median(np.diff(starts_s)))
    for _ in range(2):
        number = np.rint((starts_s - starts_s[0]) / beat)
        if number[-1] < LEAST_PULSES - 1:
            return False
        beat, begin = np.polyfit(number, starts_s, 1)
    if starts_s.size < LEAST_PRESENT * (number[-1] + 1):
        return False
    late = starts_s - begin - beat * number
    return bool(np.sqrt(np.mean(late**2)) < OFF_BEAT * beat + OFF_BEAT_S)
