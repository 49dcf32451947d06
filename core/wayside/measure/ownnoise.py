"""Noise that comes and goes with the tone itself.

A sound coder lets its noise follow what is loud, just below where it would be heard (Painter and
Spanias 2000, *Proc. IEEE* 88, 451; from memory), and an unclean tone brings its own. Between the
lines nothing of it shows. It shows in what the fit leaves of each line: across the tone, where
it turns the phase, the rest is then larger where the tone is louder. How much, as a share of
the tone's power, follows from the likelihood of the rests; blocks that hold more of it
count for less.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize_scalar

from wayside.measure.demod import Blocks
from wayside.measure.motion import phase_model
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

# a share must explain so much more (nats) to be taken for more than chance
LEAST_GAIN = 2.0
# shares of the noise asked for, by the loudest line's power over noise in a block
LOWEST, HIGHEST = 1e-3, 1e3


def with_own_noise(blocks: Blocks, p: PassBy) -> Blocks:
    """Return blocks that count for less where the tone's own noise is louder.

    Parameters
    ----------
    blocks : Blocks
    p : PassBy
        The fit whose rests are looked at.

    Returns
    -------
    Blocks
        The same where the tone brings no noise of its own that could be seen.
    """
    model = phase_model(p, blocks.times_s)
    a = np.broadcast_to(blocks.spread(model.spread), blocks.z.shape)
    y = blocks.turned(model.cycles)
    amplitude = np.sum(y * a, axis=1) / np.sum(a * a, axis=1)
    across = np.imag(y * np.exp(-1j * np.angle(amplitude))[:, None])
    rest = across**2 / (0.5 * blocks.noise[:, None])
    power = np.abs(amplitude[:, None]) ** 2 * a**2 / blocks.noise[:, None]
    loudest = float(power.max())
    if not loudest > 0:
        return blocks

    def cost(log_share: float) -> float:
        size = 1.0 + math.exp(log_share) / loudest * power
        return 0.5 * float(np.sum(np.log(size) + rest / size - rest))

    found = minimize_scalar(cost, bounds=(math.log(LOWEST), math.log(HIGHEST)), method="bounded")
    if -float(found.fun) < LEAST_GAIN:
        return blocks
    size = np.sqrt(1.0 + math.exp(float(found.x)) / loudest * power)
    law = 1.0 if blocks.law is None else blocks.law
    evened = 1.0 if blocks.evened is None else blocks.evened
    return replace(blocks, z=blocks.z / size, law=law / size, evened=evened / size)
