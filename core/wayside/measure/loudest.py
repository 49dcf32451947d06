"""When a source is nearest, told from its level alone."""

from __future__ import annotations

import numpy as np

from wayside.measure.demod import Blocks

# the crossing times that are tried (s), and how many passing times
CROSSINGS_S = np.geomspace(0.08, 2.5, 12)
TRIED = 200


def loudest_s(blocks: Blocks) -> float:
    """Return when the level of envelopes peaks as that of a passing source does (s).

    The power of a hum that beats is taken for exponential about its mean, which rises and falls
    with the square of the distance.

    Parameters
    ----------
    blocks : Blocks
    """
    power = np.sum((np.abs(blocks.z) ** 2 + blocks.noise[:, None]) / blocks.noise[:, None], axis=0)
    floor = 2.0 * blocks.noise.size
    at = np.linspace(blocks.times_s[0], blocks.times_s[-1], TRIED)
    since = (blocks.times_s - at[:, None]) / CROSSINGS_S[:, None, None]
    shape = 1.0 / (1.0 + since**2)
    size = np.maximum(np.sum(power - floor), floor) / np.sum(shape, axis=2, keepdims=True)
    mean = size * shape + floor
    fit = np.sum(np.log(mean) + power / mean, axis=2)
    return float(at[np.unravel_index(np.argmin(fit), fit.shape)[1]])
