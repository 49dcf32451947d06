"""Is what seems to keep its phase only a few vowels that happen to fit together?

A voice says enough along a curve, somewhere in a recording, for a faint tone to be claimed that
keeps its phase from end to end. But what is said between goes along the curve as well, in other
phases and at other levels. A source that passes makes of every short window just what it makes
of the whole: short windows, each with an amplitude of its own, then explain no more of the sound
than one does over all, but for the noise each of them takes up.
"""

from __future__ import annotations

import math

import numpy as np

from wayside.measure.demod import Blocks
from wayside.measure.ladder import edges_of, gains_of
from wayside.physics.passby import PassBy

WINDOWS_S = (0.1, 0.2, 0.4, 0.8)
# a real level is not quite that of spreading: what short windows may explain more (of the whole)
UNEVEN = 0.05
# what they may explain more by chance, in standard deviations
MOST_SURPLUS = 3.0


def in_snatches(blocks: Blocks, p: PassBy) -> bool:
    """Return True where short windows explain more than a source that keeps its phase leaves.

    Parameters
    ----------
    blocks : Blocks
    p : PassBy
        The pass-by that is claimed.

    Notes
    -----
    In white noise a window's statistic is one nat on average, with a variance of one.
    """
    whole = float(np.sum(gains_of(blocks, p, np.zeros(1, dtype=np.intp))))
    for window_s in WINDOWS_S:
        edges = edges_of(blocks, p, max(1, round(window_s / blocks.block_s)))
        more = (edges.size - 1) * blocks.harmonics.size
        if more < 1:
            continue
        surplus = float(np.sum(gains_of(blocks, p, edges))) - whole - more
        if surplus - UNEVEN * whole > MOST_SURPLUS * math.sqrt(more):
            return True
    return False
