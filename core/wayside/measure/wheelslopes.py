"""How the likelihood of a humming bicycle rises with what is open about it.

Worked out by small differences. Each harmonic has a power, a balance and a noise of its own, which
move no other harmonic but by moving where the hum comes from; so all powers are changed at once,
all balances and all noises, and the place by itself, and put together by the chain rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from wayside.measure.foretold import Foretold, foretold
from wayside.measure.twowheels import SHARED, Bicycle, Hum
from wayside.measure.wheelways import ways_near

FloatArray = npt.NDArray[np.float64]

# log-likelihood, its slopes block by block, and its information
Slopes = tuple[float, FloatArray, FloatArray]

# differences for slopes; the pitch is the best known
SMALL, SMALL_PITCH = 1e-6, 1e-8
# bicycles worked out at once: more take more memory and no less time each
TOGETHER = 6


def slopes_each(pairs: Sequence[tuple[Hum, Bicycle]]) -> list[Slopes]:
    """Return the log-likelihood of several bicycles, its slopes and its information.

    Parameters
    ----------
    pairs : sequence of (Hum, Bicycle)
        The envelopes, the same for all, and how many wheels; what is known beforehand is not
        looked at, but what may waver is.

    Returns
    -------
    list of tuple, of each
        loglik : float
        scores : ndarray, shape (n_blocks, n_open)
            Slopes block by block, by what is open as `Hum.open` has it.
        information : ndarray, shape (n_open, n_open)
    """
    if len(pairs) > TOGETHER:
        return [*slopes_each(pairs[:TOGETHER]), *slopes_each(pairs[TOGETHER:])]
    around = [_around(hum, bicycle) for hum, bicycle in pairs]
    hums = [hum for hum, _ in pairs]
    ways = [ways_near(hum, *near[:2]) for hum, near in zip(hums, around, strict=True)]
    one, other = (np.concatenate(way, axis=1) for way in zip(*ways, strict=True))
    each = [(hum, b) for hum, (near, _, _) in zip(hums, around, strict=True) for b in near]
    kept = np.array([hum.kept(b) for hum, b in each])
    noise = np.array([hum.noise(b) for hum, b in each])
    all_of = foretold(np.ascontiguousarray(hums[0].blocks.z.T), one, other, kept, noise)
    ends = np.cumsum([len(near) for near, _, _ in around])
    return [
        _put_together(hum, near[0], all_of.of(slice(end - len(near), end)), by)
        for hum, (near, _, by), end in zip(hums, around, ends, strict=True)
    ]


def _around(hum: Hum, bicycle: Bicycle) -> tuple[list[Bicycle], list[float | None], FloatArray]:
    """Return a bicycle and others about it, their shares, and how far they are from it."""
    n, places = bicycle.power.size, hum.open
    size = SHARED + 3 * n
    near, by = differing(bicycle, size, places[places < SHARED])
    shares: list[float | None] = [None] * len(near)
    if hum.wheels == 2:
        near.append(bicycle)
        shares.append(bicycle.share + SMALL)
    for start in _kinds(places, n):
        step = np.zeros(size)
        step[start : start + n] = SMALL
        near.append(bicycle.moved(step))
        shares.append(bicycle.share)
    return near, shares, np.append(by, np.full(len(near) - 1 - by.size, SMALL))


def _kinds(places: npt.NDArray[np.intp], n: int) -> list[int]:
    """Return where in a step what each harmonic has begins, of one wheel without the balance."""
    return [start for start in range(SHARED, SHARED + 3 * n, n) if start in places]


def _put_together(hum: Hum, bicycle: Bicycle, all_of: Foretold, by: FloatArray) -> Slopes:
    n, places = bicycle.power.size, hum.open
    shared, kinds = places[places < SHARED], _kinds(places, n)
    turn, swell = all_of.changes(by)
    pulled = dict(zip((SHARED, SHARED + n), _moving_share(bicycle), strict=True))

    def whole_of(changes: npt.NDArray[Any]) -> npt.NDArray[Any]:
        whole = np.zeros((changes.shape[0], places.size, n), dtype=changes.dtype)
        whole[:, : shared.size] = changes[:, : shared.size]
        own = np.arange(n)
        for number, start in enumerate(kinds):
            block = whole[:, shared.size + number * n :][:, :n]
            block[:, own, own] = changes[:, number - len(kinds)]
            if hum.wheels == 2 and start in pulled:
                block += pulled[start][None, :, None] * changes[:, shared.size][:, None, :]
        return whole

    scores, information = all_of.slopes(whole_of(turn), whole_of(swell))
    return float(all_of.terms()[0].sum()), scores, information


def differing(
    bicycle: Bicycle, size: int, places: npt.NDArray[np.intp]
) -> tuple[list[Bicycle], FloatArray]:
    """Return a bicycle and others that each differ in one place of a step, and by how much."""
    by = np.where(places == 0, SMALL_PITCH, SMALL)
    near = [bicycle]
    for place, difference in zip(places, by, strict=True):
        step = np.zeros(size)
        step[place] = difference
        near.append(bicycle.moved(step))
    return near, by


def _moving_share(bicycle: Bicycle) -> tuple[FloatArray, FloatArray]:
    """Return how the share moves with each harmonic's power and balance, logs both."""
    power = np.exp(bicycle.power)
    power /= power.sum()
    rear = bicycle.rear
    return power * (rear - bicycle.share), power * rear * (1.0 - rear)
