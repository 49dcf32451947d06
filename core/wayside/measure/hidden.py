"""A second look where the first saw nothing plain: glides no single line betrays.

A brief or faint pass of many harmonics shows in none of them, only in their sum: the search is
made again on planes whose cells add up the harmonics of a pitch. A slow pass of a low pitch
falls by less than a cell: of the steadiest low lines it is asked whether a passing curve does
better than an even pitch, by their phase.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy import ndimage, signal

from wayside.jobs import Job
from wayside.measure.comb import Comb
from wayside.measure.demod import Blocks, demodulate
from wayside.measure.ladder import climb_all, glide_gain
from wayside.measure.motion import from_curve
from wayside.measure.planes import FAST_WINDOWS, Plane, plane_of
from wayside.measure.refine import Sound
from wayside.measure.search import Candidate, search
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
Band = tuple[float, float]

# evidence above which nothing more is looked for (nats)
PLAIN = 60.0
# at the full rate, for a brief pass has its harmonics high up
# (window length, how many lines)
COMBS = ((1024, (6,)), (2048, (3, 6)))
# how many lines of the longest fast plane of the first look
LATER_COMB = (3, 6)
# what noise alone comes to now and then in a minute (nats); there are as many fewer places
# where it may as the sound is shorter
LEAST_SCORE, MINUTE_S = 20.0, 60.0
# lines nearer than this (in cells) are not told apart
APART = 2.5
COMBS_KEPT = 3
# lines followed from there, and up to which share of the rate
FOLLOWED, TOP_SHARE = (1, 2, 3, 4, 5, 6), 0.35

LOW_HZ = (40.0, 300.0)
MOST_LOW, STAND_OUT = 3, 20.0
LOW_WINDOW_S, LOW_BLOCK_S = 3.0, 0.12
SLOW_MPS = (1.5, 4.0)


def hidden(
    sound: Sound, planes: tuple[Plane, ...], c: float, band_hz: Band | None, job: Job
) -> list[tuple[Candidate, Comb]]:
    """Return glides seen in many lines together, and in the phase of low steady ones.

    Parameters
    ----------
    sound : Sound
        A stretch at full rate.
    planes : tuple of Plane
        Those of the first look, from `wayside.measure.planes.make_planes`.
    c : float
        Speed of sound (m/s).
    band_hz : tuple of float or None
        Where to look.
    job : Job
    """
    slow = _slow(sound, c, band_hz, job)
    if any(found.evidence > PLAIN for found, _ in slow):
        return slow
    return [*slow, *_combed(sound, planes, band_hz, job)]


def _combed(
    sound: Sound, planes: tuple[Plane, ...], band_hz: Band | None, job: Job
) -> list[tuple[Candidate, Comb]]:
    combs: list[Plane] = []
    for n, counts in COMBS:
        job.check()
        if sound.samples.size >= 3 * n:
            one = plane_of(sound.samples, sound.rate_hz, sound.start_s, n, band_hz)
            combs += [comb_plane(one, lines) for lines in counts]
    longest = len(FAST_WINDOWS)
    for one in planes[longest - 1 : longest]:
        combs += [comb_plane(one, lines) for lines in LATER_COMB]
    least = LEAST_SCORE + float(np.log((sound.stop_s - sound.start_s) / MINUTE_S))
    out = []
    for found in search(tuple(combs), job)[:COMBS_KEPT]:
        if found.score < least:
            continue
        # more lines than were added up may be there, and cost next to nothing if not
        lines = [k for k in FOLLOWED if k * found.alpha_hz < TOP_SHARE * sound.rate_hz]
        out.append((found, Comb(1, tuple(lines), found.score)))
    return out


def comb_plane(plane: Plane, lines: int) -> Plane:
    """Return the plane whose cells add up the first `lines` harmonics of a pitch."""
    first = int(np.ceil(APART * lines))
    pitch = np.arange(plane.power.shape[1])
    power = np.full_like(plane.power, lines)
    power[:, first:] = plane.power[:, first:]
    for k in range(1, lines):
        cell = np.rint(pitch[first:] * k / lines).astype(np.intp)
        power[:, first:] += np.take(plane.power, cell, axis=1)
    return replace(plane, power=power, bin_hz=plane.bin_hz / lines, lines=lines)


def _slow(sound: Sound, c: float, band_hz: Band | None, job: Job) -> list[tuple[Candidate, Comb]]:
    low, high = band_hz or LOW_HZ
    low, high = max(low, LOW_HZ[0]), min(high, LOW_HZ[1])
    near = sound.below(high)
    out = []
    for pitch in _steady_lines(near, low, high):
        job.check()
        found = _bent(near, pitch, c, job)
        if found is not None:
            # the loudest of hums is no glide: what counts is what bending gains
            out.append((found, Comb(1, (1,), found.evidence)))
    return out


def _steady_lines(sound: Sound, low: float, high: float) -> list[float]:
    """Return the pitches (Hz) of the strongest lines of the spectrum, strongest first."""
    n = round(LOW_WINDOW_S * sound.rate_hz)
    if high <= low or n > sound.samples.size:
        return []
    pitch, power = signal.welch(sound.samples, sound.rate_hz, nperseg=n, detrend=False)
    inside = (pitch > low) & (pitch < high)
    pitch, power = pitch[inside], power[inside]
    floor = ndimage.median_filter(power, size=31, mode="nearest")
    peaks, _ = signal.find_peaks(power, distance=6)
    clear = peaks[power[peaks] > STAND_OUT * floor[peaks]]
    order = clear[np.argsort(-power[clear])]
    return [float(pitch[i]) for i in order[:MOST_LOW]]


def _bent(sound: Sound, pitch: float, c: float, job: Job) -> Candidate | None:
    """Return the glide that the phase of a nearly steady line follows best."""
    still = from_curve(pitch, 1e-4, 1.0, 0.0, c)
    blocks = demodulate(
        sound.samples, sound.rate_hz, sound.start_s, still, (1,), max(LOW_BLOCK_S, 3.0 / pitch)
    )
    loudest, width = _swell(blocks)
    best: tuple[float, float, PassBy] | None = None
    for v in SLOW_MPS:
        job.check()
        start = from_curve(pitch, v / c, width, loudest, c)
        rungs = climb_all(blocks, start, max(4, round(width / blocks.block_s)), job)
        p = rungs[-1].passby
        if not blocks.times_s[0] < p.passing_time_s < blocks.times_s[-1]:
            continue
        if p.closest_m / p.speed_mps > blocks.times_s[-1] - blocks.times_s[0]:
            # so slow that it is an even pitch
            continue
        gain = glide_gain(blocks, p, 2 * blocks.times_s.size)
        if best is None or gain > best[0]:
            best = (gain, rungs[-1].gain, p)
    if best is None:
        return None
    gain, score, p = best
    mach = p.speed_mps / c
    s = p.closest_m / p.speed_mps * float(np.sqrt(1.0 - mach**2))
    return Candidate(
        p.source_hz / (1.0 - mach**2), mach, s, p.passing_time_s, score, score - gain, 0
    )


def _swell(blocks: Blocks) -> tuple[float, float]:
    """Return when a line is loudest and for how long it is more than half as loud (s)."""
    power = ndimage.uniform_filter1d(np.abs(blocks.z[0]) ** 2, 5, mode="nearest")
    top = int(np.argmax(power))
    loud = float(np.count_nonzero(power > 0.5 * power[top])) * blocks.block_s
    return float(blocks.times_s[top]), max(loud, 4.0 * blocks.block_s)
