"""Undo a recorder's automatic gain where the background betrays it.

A phone turns a loud passing down, and the steady background with it. How the background
swells and fades between the lines is therefore the gain, and taking it off the tone's level
gives back the rise towards the passing that the shape tests ask for. Only a background that
sinks while the tone is loudest is taken for gain: one that rises with the tone belongs to it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.signal import ShortTimeFFT
from scipy.signal.windows import hann

from wayside.measure.refine import Sound
from wayside.measure.result import Track
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

FRAME_S, LOWEST_HZ = 0.04, 200.0
DEEPEST_DB = 20.0
# a sink of the background this deep is more than its own chance
LEAST_SINK_DB = 1.0
NEAR_CROSSINGS, FAR_CROSSINGS = 1.0, 2.0


def unlevelled(track: Track, sound: Sound, p: PassBy) -> Track:
    """Return the track with its level as it was before automatic gain, if there was any."""
    gain = gain_db(sound, p, track.times_s)
    return track if gain is None else replace(track, level_db=track.level_db - gain)


def gain_db(sound: Sound, p: PassBy, times_s: FloatArray) -> FloatArray | None:
    """Return the automatic gain at some times over its usual (dB), None where there is none.

    Parameters
    ----------
    sound : Sound
    p : PassBy
        About whose passing the background has to sink.
    times_s : ndarray, shape (n,)
    """
    times, gain = background_db(sound)
    if times.size < 8:
        return None
    since = np.abs(times - p.passing_time_s) * p.speed_mps / p.closest_m
    near, far = gain[since < NEAR_CROSSINGS], gain[since > FAR_CROSSINGS]
    if near.size < 2 or far.size < 4 or np.median(far) - np.median(near) < LEAST_SINK_DB:
        return None
    return np.interp(times_s, times, gain)


def background_db(sound: Sound) -> tuple[FloatArray, FloatArray]:
    """Return times (s) and how far the background lies above its usual level (dB).

    The median over all pitches does not notice a few lines.
    """
    size = max(64, round(FRAME_S * sound.rate_hz))
    if sound.samples.size < 4 * size:
        return np.empty(0), np.empty(0)
    transform = ShortTimeFFT(hann(size, sym=False), hop=size // 2, fs=sound.rate_hz)
    first, last = transform.lower_border_end[1], transform.upper_border_begin(sound.samples.size)[1]
    power = np.abs(transform.stft(sound.samples)[:, first - transform.p_min : last]) ** 2
    times = sound.start_s + transform.t(sound.samples.size)[first - transform.p_min : last]
    power = power[transform.f > LOWEST_HZ]
    usual = np.median(power, axis=1, keepdims=True)
    heard = usual[:, 0] > 1e-12 * usual.max(initial=0.0)
    if not np.any(heard):
        return np.empty(0), np.empty(0)
    ratio = 10.0 * np.log10(np.maximum(power[heard] / usual[heard], 10.0 ** (-DEEPEST_DB / 10)))
    return times, np.asarray(np.median(ratio, axis=0))
