"""How the likelihood of a humming bicycle rises with what is open about it.

Worked out by small differences. Each harmonic has a power, a balance and a noise of its own, which
move no other harmonic but by moving where the hum comes from; so all powers are changed at once,
all balances and all noises, and the place by itself, and put together by the chain rule.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from wayside.measure.twowheels import SHARED, Bicycle, Hum

FloatArray = npt.NDArray[np.float64]

# differences for slopes; the pitch is the best known
SMALL, SMALL_PITCH = 1e-4, 1e-6


def slopes_of(hum: Hum, bicycle: Bicycle) -> tuple[float, FloatArray, FloatArray]:
    """Return the log-likelihood of a bicycle, its slopes and its information.

    Parameters
    ----------
    hum : Hum
    bicycle : Bicycle

    Returns
    -------
    loglik : float
    scores : ndarray, shape (n_blocks, n_open)
        Slopes block by block, by what is open as `Hum.open` has it.
    information : ndarray, shape (n_open, n_open)
    """
    n, places = bicycle.power.size, hum.open
    size = SHARED + 3 * n
    shared = places[places < SHARED]
    near, by = differing(bicycle, size, shared)
    shares: list[float | None] = [None] * len(near)
    two = hum.wheels == 2
    if two:
        near.append(bicycle)
        shares.append(bicycle.share + SMALL)
    # those of each harmonic, of one wheel without the balance
    kinds = [start for start in range(SHARED, size, n) if start in places]
    for start in kinds:
        step = np.zeros(size)
        step[start : start + n] = SMALL
        near.append(bicycle.moved(step))
        shares.append(bicycle.share)
    by = np.append(by, np.full(len(near) - 1 - by.size, SMALL))
    all_of = hum.foretold(near, shares)
    turn, swell = all_of.changes(by)
    pulled = dict(zip((SHARED, SHARED + n), _moving_share(bicycle), strict=True))

    def put_together(changes: npt.NDArray[Any]) -> npt.NDArray[Any]:
        whole = np.zeros((changes.shape[0], places.size, n), dtype=changes.dtype)
        whole[:, : shared.size] = changes[:, : shared.size]
        own = np.arange(n)
        for number, start in enumerate(kinds):
            block = whole[:, shared.size + number * n :][:, :n]
            block[:, own, own] = changes[:, number - len(kinds)]
            if two and start in pulled:
                block += pulled[start][None, :, None] * changes[:, shared.size][:, None, :]
        return whole

    scores, information = all_of.slopes(put_together(turn), put_together(swell))
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
