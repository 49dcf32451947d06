"""Lines that a recorder adds where it is driven too hard.

What is clipped gets harmonics that its source does not have, or not so strongly. They come and go
with the clipping, close about the passing, so that their level falls far faster than distance makes
a source's fall; a fit that takes their level for the source's finds it far too near.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.measure.demod import Blocks
from wayside.measure.motion import phase_model
from wayside.physics.passby import PassBy

# crossing times within which it is near, and between which it is far
NEAR, FAR = 0.8, (1.5, 4.0)
# of what distance leaves of a line far away so much at least is there; beats and echoes take less
LEAST_LEFT = 0.2
# what should be left has to stand out of the noise by so many standard deviations
TELLING = 4.0
LEAST_BLOCKS = 8
# what adds a line is no fainter than this share of its power
AS_LOUD = 0.5


def added(blocks: Blocks, p: PassBy) -> npt.NDArray[np.bool_]:
    """Return which harmonics are heard near the passing alone, shape (n_harmonics,).

    Only those count that are higher than one about as loud that is heard from afar as well.

    Parameters
    ----------
    blocks : Blocks
    p : PassBy
    """
    since = np.abs(blocks.times_s - p.heard_passing_s) * p.speed_mps / p.closest_m
    near, far = since < NEAR, (since > FAR[0]) & (since < FAR[1])
    if min(np.count_nonzero(near), np.count_nonzero(far)) < LEAST_BLOCKS:
        return np.zeros(blocks.harmonics.size, dtype=bool)
    law = np.broadcast_to(blocks.spread(phase_model(p, blocks.times_s).spread) ** 2, blocks.z.shape)
    power = np.abs(blocks.z) ** 2
    quiet = np.minimum(blocks.noise, np.median(power[:, far], axis=1) / np.log(2.0))
    beside = power[:, near].mean(axis=1) - quiet
    should = beside * law[:, far].mean(axis=1) / law[:, near].mean(axis=1)
    left = power[:, far].mean(axis=1) - quiet
    scatter = quiet / np.sqrt(np.count_nonzero(far))
    brief = (should > TELLING * scatter) & (left < LEAST_LEFT * should)
    # only what is lower and as loud can be the source of an added line
    loud = [np.any(~brief[:i] & (beside[:i] > AS_LOUD * beside[i])) for i in range(brief.size)]
    return np.asarray(brief & loud)
