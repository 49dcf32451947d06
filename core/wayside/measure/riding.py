"""How a rider's speed may waver in the course of a pass, in a few numbers.

A speed that wavers as `wayside.measure.unrest` has it puts the source ahead of an even ride's
place or behind it. That way is a normal process; its covariance has few eigenvectors that
matter, and what a rider does is all but a sum of these (Karhunen-Loève expansion; Ghanem and
Spanos 1991, *Stochastic Finite Elements*, 2.3).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.measure.unrest import MEAN_OVER, Unrest, way_covariance
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# eigenvectors that count, and on how many times they are worked out
MODES, TIMES = 10, 240


@dataclass(frozen=True)
class Ride:
    """What a speed may do beside keeping even.

    Parameters
    ----------
    times_s : ndarray, shape (n_times,)
        Emission times on the recording's clock (s).
    ways_s : ndarray, shape (MODES, n_times)
        How far ahead each mode of unit size is, in ways of a second at the mean speed. A mode's
        size has a standard deviation of that of the speed, as a fraction of it.
    """

    times_s: FloatArray
    ways_s: FloatArray

    def each_s(self, p: PassBy, since_s: FloatArray) -> FloatArray:
        """Return how far ahead of an even ride's place each mode puts it, in the same ways.

        The even ride is at the mean speed over two crossing times to either side of the passing,
        and at the same place at the passing.

        Parameters
        ----------
        p : PassBy
            That of the even ride.
        since_s : ndarray, shape (n,)

        Returns
        -------
        ndarray, shape (MODES, n)
        """
        return np.array([_beside_even(p, since_s, self.times_s, way) for way in self.ways_s])

    def ahead_s(self, sizes: FloatArray, p: PassBy, since_s: FloatArray) -> FloatArray:
        """Return how far ahead modes of such sizes put it together, see `each_s`, shape (n,)."""
        return _beside_even(p, since_s, self.times_s, sizes @ self.ways_s)

    def spread(self, sizes: FloatArray) -> float:
        """Return the standard deviation of the speed, as a fraction of it."""
        return float(np.std(np.gradient(sizes @ self.ways_s, self.times_s)))


def _beside_even(
    p: PassBy, since_s: FloatArray, times_s: FloatArray, way_s: FloatArray
) -> FloatArray:
    """Return a way less that of an even ride at its mean speed about the passing."""
    reach = MEAN_OVER * p.closest_m / p.speed_mps
    asked = np.append(since_s, [-reach, reach, 0.0]) + p.passing_time_s
    way = np.interp(asked, times_s, way_s)
    mean = (way[-2] - way[-3]) / (2.0 * reach)
    return np.asarray(way[:-3] - way[-1] - mean * since_s)


def ride_of(p: PassBy, first_s: float, last_s: float, lasts_s: float) -> Ride:
    """Return what a speed may do that is heard from `first_s` to `last_s`.

    Parameters
    ----------
    p : PassBy
    first_s, last_s : float
        On the recording's clock (s).
    lasts_s : float
        Correlation time of the speed (s).
    """
    reach = MEAN_OVER * p.closest_m / p.speed_mps
    heard = p.emission_time(np.array([first_s, last_s])) - p.passing_time_s
    since = np.linspace(min(heard[0], -reach), max(heard[1], reach), TIMES)
    asked = np.append(since, [-reach, reach])
    covariance = way_covariance(asked, asked, Unrest(waver=1.0, waver_s=lasts_s))
    # less what the mean speed makes of it
    less = np.eye(TIMES, TIMES + 2)
    less[:, -2:] = np.outer(since, [0.5, -0.5]) / reach
    size, mode = np.linalg.eigh(less @ covariance @ less.T)
    largest = slice(None, -MODES - 1, -1)
    return Ride(since + p.passing_time_s, np.asarray((mode[:, largest] * np.sqrt(size[largest])).T))
