"""Whether a tone's loudness follows its distance closely enough to be counted.

Loudness falls as 1/r from a small source in the open, and then its rise and fall says as much
about a pass of a wavelength or two as the phase does. Directed sources, echoes and automatic
gain break the law. It is therefore tested: four smooth departures from 1/r are offered, and
the score they show at the fit is compared with what noise alone would give it (score test;
Rao 1948, *Proc. Camb. Phil. Soc.* 44, 50). A departure too small to be seen is smaller than
the noise, and so is the harm it does.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numpy.polynomial import legendre
from scipy.stats import chi2

from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, Rung, level_sums
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

ORDERS = (1, 2, 3, 4)
# a true 1/r is doubted once in a hundred times
LEAST_CHANCE = 0.01


def follows_distance(blocks: Blocks, rung: Rung) -> bool:
    """Return True when nothing speaks against 1/r.

    Parameters
    ----------
    blocks : Blocks
    rung : Rung
        A fit of one window that counts the level.
    """
    return not seen(departure(blocks, rung))


def departure(blocks: Blocks, rung: Rung) -> float:
    """Return the score statistic of the departures, chi-squared with one freedom each."""
    p = rung.passby
    score, shared, own = level_sums(blocks, p, CONSTANT, places(p, blocks.times_s))
    return score_statistic(score, rung.normal, shared, own)


def seen(statistic: float) -> bool:
    """Return True when the departures are more than noise would make them."""
    return statistic > float(chi2.isf(LEAST_CHANCE, len(ORDERS)))


def places(p: PassBy, times_s: FloatArray) -> FloatArray:
    """Return the departures as functions of the place along the track, shape (m, n)."""
    tau = p.emission_time(times_s)
    # sine of the angle under which the source is seen, -1 to 1
    place = p.speed_mps * (tau - p.passing_time_s) / p.distance(tau)
    return np.array([legendre.legval(place, np.eye(max(ORDERS) + 1)[n]) for n in ORDERS])


def score_statistic(
    slope: FloatArray, normal: FloatArray, shared: FloatArray, own: FloatArray
) -> float:
    """Return the score statistic of departures beside fitted parameters.

    Parameters
    ----------
    slope : ndarray, shape (m,)
        Slope of the likelihood by the departures, at the fit.
    normal, shared, own : ndarray, shape (k, k), (k, m) and (m, m)
        Halved information of the parameters, of both, and of the departures.
    """
    rest = own - shared.T @ np.linalg.pinv(normal, rcond=1e-12, hermitian=True) @ shared
    return float(2.0 * slope @ np.linalg.pinv(rest, rcond=1e-9, hermitian=True) @ slope)
