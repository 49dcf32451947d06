"""Coverage intervals of a fit, from the whole mixture that is known and not its spread alone.

Where a fit is an average over side maxima or over ways of riding, what is known of a quantity is
a mixture of normal distributions, with wider tails than one normal of the same standard
deviation: plus or minus one standard uncertainty then holds more than 68 %. The intervals told
leave equal shares out below and above (JCGM 101:2008, 7.7: probabilistically symmetric coverage
interval). Positive quantities are taken as normal in their logarithm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import ndtr

FloatArray = npt.NDArray[np.float64]

# so small a share of the heaviest part's weight does not move an end
NOTHING = 1e-5
SHARE_68, SHARE_95 = 0.68, 0.95
REACH = 12.0


@dataclass(frozen=True)
class Interval:
    """Where a quantity lies with 68 % and with 95 % probability, in the quantity's unit.

    `name` is that of the quantity, e.g. ``"speed_mps"``.
    """

    name: str
    low_68: float
    high_68: float
    low_95: float
    high_95: float

    @property
    def ends(self) -> dict[str, float]:
        """The four ends by name."""
        return {f.name: getattr(self, f.name) for f in fields(self)[1:]}


def interval(
    name: str,
    values: Sequence[float],
    u: Sequence[float],
    weights: Sequence[float],
    positive: bool,
) -> Interval:
    """Return the intervals of a mixture of normal distributions.

    Parameters
    ----------
    name : str
    values, u, weights : sequence of float, shape (n_parts,)
        Mean, standard deviation and weight of each part; the weights add up to 1.
    positive : bool
        The parts are normal in the logarithm, with relative standard deviations u/value.
    """
    centre, spread = np.asarray(values, dtype=float), np.asarray(u, dtype=float)
    weight = np.asarray(weights, dtype=float)
    # a part that weighs nothing may be as wide as it likes
    counts = weight > NOTHING * weight.max()
    centre, spread, weight = centre[counts], spread[counts], weight[counts] / weight[counts].sum()
    if positive:
        spread, centre = spread / centre, np.log(centre)
    if not np.any(spread > 0):
        only = float(values[0])
        return Interval(name, only, only, only, only)
    if not np.all(np.isfinite(spread)):
        low = 0.0 if positive else -np.inf
        return Interval(name, low, np.inf, low, np.inf)
    quantile = _quantile_of(centre, np.maximum(spread, 1e-12 * spread.max()), weight)
    ends = [quantile(0.5 * (1.0 + side * s)) for s in (SHARE_68, SHARE_95) for side in (-1, 1)]
    return Interval(name, *(float(np.exp(x)) if positive else x for x in ends))


def _quantile_of(
    centre: FloatArray, spread: FloatArray, weight: FloatArray
) -> Callable[[float], float]:
    low = float(np.min(centre - REACH * spread))
    high = float(np.max(centre + REACH * spread))

    def quantile(share: float) -> float:
        def beyond(x: float) -> float:
            return float(weight @ ndtr((x - centre) / spread)) - share

        return float(brentq(beyond, low, high, xtol=1e-9 * (high - low)))

    return quantile
