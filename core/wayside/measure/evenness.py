"""A sound whose background swells and fades, made even.

Fits weigh every moment by how loud the noise is there. Gusts come and go, and a recorder's
automatic gain turns the background up and down together with the tone. Its course at all
pitches together shows first, then what is left of it between the lines, where no tone is; the
sound is divided by it. Whether the tone had been turned up and down along with it (a gain, so that
its level again follows the distance) or not (the air's own noise, so that now the tone's level is
the other way round uneven) is asked of the likelihood.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from scipy.signal import ShortTimeFFT
from scipy.signal.windows import blackmanharris

from wayside.measure.autogain import background_db
from wayside.measure.course import Course
from wayside.measure.ladder import edges_of, gains_of
from wayside.measure.refine import Sound, blocks_of, fine_block
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# frames that show what lies between lines, of so many cycles at least
FRAME_S, FRAME_CYCLES = 0.04, 16.0
# the window's lines are so many cells wide to either side; the pitch glides besides
HALF_WIDTH, APART = 5.0, 0.22
MOST_LINES = 4
# a course is read from so many cells, which makes it good to a few per cent
CELLS, MOST_RATIO = 400, 8.0
LEAST_FRAMES, LEAST_CELLS = 12, 8
# rms of the logarithm of the power beyond which it is not even
UNEVEN = 0.15
FRAMES_SMOOTHED = 2.0


def broad_course(sound: Sound) -> Course | None:
    """Return the course of the background at all pitches together, None where it is even."""
    times, level_db = background_db(sound)
    if times.size < LEAST_FRAMES:
        return None
    level_db = ndimage.gaussian_filter1d(level_db, FRAMES_SMOOTHED)
    if float(np.std(level_db)) * np.log(10.0) / 10.0 < UNEVEN:
        return None
    return Course(times, 10.0 ** (level_db / 20.0))


def background_course(sound: Sound, p: PassBy, harmonics: tuple[int, ...]) -> Course | None:
    """Return the course of the background between the lines, None where it is even.

    Parameters
    ----------
    sound : Sound
    p : PassBy
        What is heard over the background.
    harmonics : tuple of int
        Its lines.
    """
    top = min(MOST_LINES, max(harmonics)) + 0.5
    low = sound.below(top * p.approach_hz)
    frame = max(FRAME_S, FRAME_CYCLES / p.source_hz)
    size = round(frame * low.rate_hz)
    if low.samples.size < LEAST_FRAMES * size:
        return None
    window = blackmanharris(size, sym=False)
    transform = ShortTimeFFT(window, hop=max(1, size // 3), fs=low.rate_hz)
    first = transform.lower_border_end[1]
    last = transform.upper_border_begin(low.samples.size)[1]
    power = np.abs(transform.stft(low.samples, p0=first, p1=last)) ** 2
    times = low.start_s + transform.t(low.samples.size, p0=first, p1=last)
    pitch = p.pitch(times)
    number = transform.f[:, None] / pitch
    beside = np.abs(number - np.rint(number))
    free = (beside > APART) & (beside * pitch * frame > HALF_WIDTH) & (number > 0.5)
    free &= number < top
    kept = free.mean(axis=1) > 0.5
    if np.count_nonzero(kept) < LEAST_CELLS:
        return None
    power, free = power[kept], free[kept]
    usual = np.sum(power * free, axis=1) / np.sum(free, axis=1) + 1e-30
    ratio = np.minimum(power / usual[:, None], MOST_RATIO) * free
    cells = np.count_nonzero(free, axis=0).astype(np.float64)
    width = max(3, round(CELLS / float(np.mean(cells))))
    if width > times.size // 4:
        return None
    total, count = (ndimage.gaussian_filter1d(x, width / 3.5) for x in (ratio.sum(axis=0), cells))
    course = np.maximum(total / np.maximum(count, 1e-9), 1e-3)
    if float(np.std(np.log(course))) < UNEVEN:
        return None
    return Course(times, np.sqrt(course))


def made_even(sound: Sound, p: PassBy, harmonics: tuple[int, ...], window_s: float) -> Sound:
    """Return the sound with an even background, the same where it is even already.

    Parameters
    ----------
    sound : Sound
    p : PassBy
        The tone in it.
    harmonics : tuple of int
        Its lines.
    window_s : float
        How long it keeps its phase (s).
    """
    course = broad_course(sound)
    if course is not None:
        sound = _likelier(sound, course, p, harmonics, window_s)
    course = background_course(sound, p, harmonics)
    return sound if course is None else _likelier(sound, course, p, harmonics, window_s)


def _likelier(
    sound: Sound, course: Course, p: PassBy, harmonics: tuple[int, ...], window_s: float
) -> Sound:
    ways = []
    for gained in (True, False):
        way = evened(sound, course, gained)
        blocks = blocks_of(way, p, harmonics, fine_block(p, sound))
        edges = edges_of(blocks, p, max(2, round(window_s / blocks.block_s)))
        ways.append((float(np.sum(gains_of(blocks, p, edges))), way))
    return max(ways, key=lambda way: way[0])[1]


def evened(sound: Sound, course: Course, gained: bool) -> Sound:
    """Return the sound with an even background.

    Parameters
    ----------
    sound : Sound
    course : Course
    gained : bool
        The tone was turned up and down with the background.
    """
    times = sound.start_s + np.arange(sound.samples.size) / sound.rate_hz
    samples = (sound.samples / course.at(times)).astype(np.float32)

    def divided(other: Course | None) -> Course:
        before = 1.0 if other is None else other.at(course.times_s)
        return Course(course.times_s, before / course.size)

    law = sound.law if gained else divided(sound.law)
    return replace(sound, samples=samples, law=law, evened=divided(sound.evened))
