"""How much louder than usual the noise is just where a tone is said to be loudest.

Evidence is counted against the noise of the whole stretch, so a gust or a rattle at the right
moment would pass for a faint tone. Beside the lines, where no tone is, it shows.
"""

from __future__ import annotations

import math

import numpy as np

from wayside.measure.motion import phase_model
from wayside.measure.refine import Refined, Sound, blocks_of, near_of
from wayside.physics.passby import PassBy

# where to listen, in pitches of the source beside a line: at no simple fraction of it
BESIDE = 0.38
# blocks of so many cycles keep the lines out
CYCLES = 8.0
MOST_LINES = 4
# a line that loses its phase is broad: so many times its width away little of it is left
CLEAR_OF_LINE = 20.0


def heard_alone(glide: Refined) -> bool:
    """Return True when beside the lines of a glide only noise is to be heard."""
    return glide.coherent or BESIDE * glide.passby.source_hz * glide.window_s > CLEAR_OF_LINE


def gustiness(sound: Sound, p: PassBy, harmonics: tuple[int, ...]) -> float:
    """Return how many times its usual power the noise has about the passing, at least 1.

    The power beside the lines is averaged with the weight 1/r^2 that the evidence has; two
    standard deviations of chance are taken off.

    Parameters
    ----------
    sound : Sound
    p : PassBy
        The pass-by that is claimed.
    harmonics : tuple of int
        Its lines.
    """
    near = near_of(sound, p)
    block = max(min(p.closest_m / p.speed_mps / 4.0, 0.05), CYCLES / p.source_hz)
    ratios, weights = [], []
    for number in harmonics[:MOST_LINES]:
        for side in (-BESIDE, BESIDE):
            pitch = p.source_hz * (number + side)
            if pitch * p.approach_hz / p.source_hz > 0.45 * sound.rate_hz:
                continue
            blocks = blocks_of(near, p.with_(source_hz=pitch), (1,), block)
            power = np.abs(blocks.z[0]) ** 2
            usual = float(np.median(power)) / np.log(2.0) + 1e-30
            fall = phase_model(p, blocks.times_s).spread ** 2
            ratios.append(float(fall @ power / np.sum(fall)) / usual)
            weights.append(float(np.sum(fall) ** 2 / np.sum(fall**2)))
    if not ratios:
        return 1.0
    ratio = float(np.average(ratios, weights=weights))
    return max(1.0, ratio / (1.0 + 2.0 / math.sqrt(sum(weights))))
