"""How far the frames of a track stray from the curve that was fitted, and how many there are."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.measure.fitted import ModelFit
from wayside.measure.result import Track
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]


def heard_share(model: ModelFit, track: Track) -> float:
    """Return in how many frames the tone was followed, of those nearer than most followed."""
    p, times = model.passby, track.times_s
    frame = _frame_s(track)
    enough = float(np.quantile(_distance(p, times), 0.75))
    # counted from the passing, on which a frame is centred
    middle = times[np.argmin(np.abs(times - p.heard_passing_s))]
    first, last = np.round((times[[0, -1]] - middle) / frame)
    slots = middle + frame * np.arange(first, last + 1)
    near = slots[_distance(p, slots) <= enough * (1.0 + 1e-9)]
    followed = np.min(np.abs(near[:, None] - times[None, :]), axis=1) < 0.6 * frame
    return float(np.mean(followed))


def _frame_s(track: Track) -> float:
    """Return how far apart frames are that follow each other; those at the ends may be shorter."""
    gaps = np.diff(track.times_s)
    return float(np.min(gaps[1:-1] if gaps.size > 2 else gaps))


def _distance(p: PassBy, times_s: FloatArray) -> FloatArray:
    return p.distance(p.emission_time(times_s))


def half_shift(p: PassBy) -> float:
    """Return about half the fall of the pitch (Hz)."""
    return p.source_hz * p.speed_mps / p.sound_speed_mps


def _strays(p: PassBy, track: Track) -> tuple[FloatArray, FloatArray]:
    """Return how far each frame strays from the curve (Hz), and its weight."""
    rest = track.pitch_hz - p.pitch(track.times_s)
    return rest, 1.0 / (track.u_hz**2 + np.median(track.u_hz) ** 2)


def residual_share(model: ModelFit, track: Track) -> float:
    """Return how far the track strays from the curve, beyond noise, over half the shift."""
    p = model.passby
    rest, weight = _strays(p, track)
    excess = float(np.sum(weight * (rest**2 - track.u_hz**2)) / np.sum(weight))
    return float(np.sqrt(max(0.0, excess))) / half_shift(p)


def lasting_share(model: ModelFit, track: Track) -> float:
    """Return the RMS stray from the curve in means over a crossing time, over half the shift."""
    p = model.passby
    frame = _frame_s(track)
    many = max(1, round(p.closest_m / p.speed_mps / frame))
    edges = np.arange(0, track.times_s.size, many)
    rest, weight = _strays(p, track)
    total = np.add.reduceat(weight, edges)
    mean = np.add.reduceat(weight * rest, edges) / total
    rms = float(np.sqrt(np.sum(total * mean**2) / np.sum(total)))
    return rms / half_shift(p)
