"""Where the fit of a wheel starts if its slowing down passed for a fast, distant passing.

The search knows fixed pitches alone. The pitch of a slow wheel falls more by its slowing down
than by its passing, and the curve of fixed pitch that comes nearest may call for 100 m/s at a
kilometre. Stepping from there to a rider leads through curves that are not heard, along which
the phase loses whole cycles a block. So the start is the rider whose pitch comes nearest
to the pitch of that curve, which was heard.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.ndimage import uniform_filter1d
from scipy.optimize import least_squares

from wayside.measure.demod import Blocks
from wayside.measure.ladder import moved
from wayside.measure.phasefit import ALL, Priors
from wayside.measure.staging import FARTHEST_M, RIDER
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

POINTS = 40
# the loudest moment tells the passing to within this; a rough guess
LOUDEST_OVER_S, PASSING_SPREAD_S = 0.4, 1.0


def ridden(p: PassBy) -> bool:
    """Return True where a rider could pass as far away as `p` says."""
    return p.closest_m < FARTHEST_M


def as_ridden(blocks: Blocks, heard: PassBy, priors: Priors) -> PassBy:
    """Return the rider's pass-by, pitch tied to the speed, whose pitch is nearest to `heard`.

    Parameters
    ----------
    blocks : Blocks
        Those of clear phase, about the passing.
    heard : PassBy
        The curve of fixed pitch.
    priors : Priors
        What is known of riders.
    """
    times = np.linspace(blocks.times_s[0], blocks.times_s[-1], POINTS)
    pitch = heard.pitch(times)
    loudest = _loudest(blocks)
    middle = float(heard.pitch(loudest))
    # how far a passing bends the pitch, which the curve that was heard need not show
    sd = middle * RIDER.speed_mps / heard.sound_speed_mps
    start = heard.with_(
        source_hz=middle,
        speed_mps=RIDER.speed_mps,
        closest_m=priors.likely_closest_m,
        passing_time_s=loudest,
        speed_tied=True,
    )

    def rest(step: FloatArray) -> FloatArray:
        q = moved(start, step, ALL, most=2.0)
        _, values, u = priors.rows(q, ALL)
        passing = (q.passing_time_s - loudest) / PASSING_SPREAD_S
        return np.concatenate([(q.pitch(times) - pitch) / sd, values / u, [passing]])

    found = least_squares(rest, np.zeros(len(ALL)), x_scale=0.1, max_nfev=40)
    return moved(start, found.x, ALL, most=2.0)


def _loudest(blocks: Blocks) -> float:
    power = np.sum(np.abs(blocks.z) ** 2 / blocks.noise[:, None], axis=0)
    over = max(1, round(LOUDEST_OVER_S / blocks.block_s))
    return float(blocks.times_s[int(np.argmax(uniform_filter1d(power, over)))])
