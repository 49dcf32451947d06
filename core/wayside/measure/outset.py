"""Whether what was seen to glide rises and falls in level at all, asked before it is fitted.

A source that passes is loudest about the passing, wherever the fit may put that in the end. Notes
of a melody, voices and sirens glide as well, and to fit them to the end takes many times as long.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.measure.autogain import unlevelled
from wayside.measure.follow import faintest_db, track_of
from wayside.measure.interrupted import pulses_of
from wayside.measure.refine import Refined, Sound, blocks_of, fine_block, near_of
from wayside.measure.result import Track

FloatArray = npt.NDArray[np.float64]

# the correlation of a level with that of any passing near by; sources that pass come out above 0.6
LEAST_CORRELATION = 0.4
# passings so near (s, crossing times), each with crossing times (s)
NEAR_S, NEAR_CROSSINGS = 1.5, 2.0
CROSSINGS_S = np.geomspace(0.08, 5.0, 13)
# the level is held against a passing so far from it (s, crossing times): beyond there may be others
ABOUT_S, ABOUT_CROSSINGS = 2.5, 5.0
# a rise of less tells nothing (dB); frames about the top lie within so much of it
LEAST_RANGE_DB, TOP_DB = 4.0, 3.0
LEAST_FRAMES, MOST_PASSINGS = 10, 100


def level_is_even(sound: Sound, refined: Refined) -> bool:
    """Whether the level of a glide follows no passing near that at which it was seen.

    A tone that keeps its phase speaks for itself, and one in pulses is judged by these.
    """
    if refined.coherent:
        return False
    p = refined.passby
    near = near_of(sound, p)
    blocks = blocks_of(near, p, refined.harmonics, fine_block(p, near))
    track, frame_s = track_of(blocks, p)
    if track.times_s.size < LEAST_FRAMES:
        return False
    reach_s = max(NEAR_S, NEAR_CROSSINGS * p.closest_m / p.speed_mps)
    heard = unlevelled(track, near, p)
    likeness = best_likeness(heard, faintest_db(blocks, frame_s), p.heard_passing_s, reach_s)
    return likeness < LEAST_CORRELATION and pulses_of(sound, refined) is None


def best_likeness(track: Track, faintest: float, about_s: float, reach_s: float) -> float:
    """Return how closely a level follows 1/r spreading from the passing that it follows best.

    Parameters
    ----------
    track : Track
    faintest : float
        The level (dB) at which both are held, that of noise.
    about_s, reach_s : float
        Passings are tried about this time, so far from it (s). What sounds further from each than
        `ABOUT_S` or `ABOUT_CROSSINGS` is left out.

    Returns
    -------
    float
        Their correlation; -1 where no passing would make the level rise.
    """
    times = track.times_s
    passings = times[np.abs(times - about_s) <= reach_s]
    passings = passings[:: max(1, -(-passings.size // MOST_PASSINGS))]
    if not passings.size:
        passings = np.array([np.clip(about_s, times[0], times[-1])])
    level = np.maximum(track.level_db, faintest)
    since = (times - passings[:, None])[:, None, :] / CROSSINGS_S[:, None]
    about = np.abs(since) <= np.maximum(ABOUT_CROSSINGS, ABOUT_S / CROSSINGS_S)[:, None]
    # how far below its loudest frame each is, and where that frame stands
    fall = np.where(about, -10.0 * np.log10(1.0 + since**2), -np.inf)
    fall -= fall.max(axis=2, keepdims=True)
    top = np.where(fall > -TOP_DB, level, -np.inf).max(axis=2, keepdims=True)
    expected = np.maximum(top + fall, faintest)
    count = np.sum(about, axis=2, keepdims=True)

    def off_mean(values: FloatArray) -> FloatArray:
        mean = np.sum(values, axis=2, keepdims=True, where=about) / count
        return np.where(about, values - mean, 0.0)

    x, y = off_mean(expected), off_mean(np.broadcast_to(level, about.shape))
    rise = x.max(axis=2) - x.min(axis=2)
    size = np.sqrt(np.sum(x**2, axis=2) * np.sum(y**2, axis=2))
    alike = np.sum(x * y, axis=2) / np.maximum(size, 1e-12)
    telling = (rise > LEAST_RANGE_DB) & (count[:, :, 0] >= LEAST_FRAMES)
    return float(np.max(alike[telling], initial=-1.0))
