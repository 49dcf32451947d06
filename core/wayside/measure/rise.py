"""How the level of a source rises and falls about its passing, held against distance.

A source of constant strength is louder the nearer it is, by 1/r. Engines are thrown louder ahead,
and where the passing is open the level may say when and how far away it was.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from wayside.measure.fitted import ModelFit
from wayside.measure.result import Track

# a wavering pitch leaves passing and distance so open that the level may choose among them
LEVEL_WITHIN_U, MOST_OPEN = 1.5, 0.7
# a place from which the level changes by less proves nothing (dB)
TELLING_RANGE_DB = 7.0


class Rise(NamedTuple):
    """How the level follows what distance makes of it.

    Parameters
    ----------
    slope : float
        Its rise over that of 1/r; NaN where 1/r makes none.
    correlation : float
    range_db : float
        What 1/r makes of it, down to the noise.
    """

    slope: float
    correlation: float
    range_db: float


def level_slope(model: ModelFit, track: Track, faintest_db: float, thrown: int = 0) -> Rise:
    """Return how the level follows 1/r spreading from a fit.

    Both the level and what spreading predicts of it are held at the noise, so that faint
    frames agree in being faint. With `thrown` the sound is louder ahead of the source than
    behind, as that power of the Doppler factor.
    """
    p = model.passby
    tau = p.emission_time(track.times_s)
    fall = -20.0 * np.log10(p.distance(tau) / p.closest_m)
    if thrown:
        fall += 20.0 * thrown * np.log10(p.pitch(track.times_s) / p.source_hz)
    peak = float(np.max(track.level_db[fall > np.max(fall) - 3.0]))
    expected = np.maximum(peak + fall, faintest_db)
    level = np.maximum(track.level_db, faintest_db)
    x = expected - expected.mean()
    y = level - level.mean()
    if not np.any(x):
        return Rise(float("nan"), float("nan"), 0.0)
    size = float(np.sqrt(np.sum(x**2) * np.sum(y**2)))
    slope = float(np.sum(x * y) / np.sum(x**2))
    return Rise(slope, float(np.sum(x * y)) / max(size, 1e-12), float(np.ptp(expected)))


def likeliest_level(model: ModelFit, track: Track, faintest_db: float, at_fit: Rise) -> Rise:
    """Return how the level follows 1/r where it does so best within the fit's uncertainty."""
    p = model.passby
    crossing = p.closest_m / p.speed_mps
    later = LEVEL_WITHIN_U * min(model.u(3), MOST_OPEN * crossing)
    farther = LEVEL_WITHIN_U * min(model.u(2) / p.closest_m, MOST_OPEN)
    found = [at_fit]
    for time, factor in itertools.product(np.linspace(-later, later, 7), np.linspace(-1, 1, 5)):
        q = p.with_(
            passing_time_s=p.passing_time_s + float(time),
            closest_m=p.closest_m * math.exp(factor * farther),
        )
        found.append(level_slope(replace(model, passby=q), track, faintest_db))
    telling = [f for f in found if f.range_db >= TELLING_RANGE_DB] or found[:1]
    return max(telling, key=lambda f: f.correlation)
