"""A source that keeps its phase, carried by someone who keeps neither the speed nor the line.

Faint, what is carried seems to keep its phase: noise hides a track that strays by a few
centimetres. Most of it is bent to by distance and passing time, which would be told ten times too
surely. The phase is fitted with and without such a ride (see `wayside.measure.unrest`), and both
are weighed by their likelihood (Bayesian model averaging; Hoeting et al. 1999, *Statist. Sci.* 14,
382).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure.along import LEAST_BLOCKS, USABLE_PHASE_RAD
from wayside.measure.breadth import part_of
from wayside.measure.ladder import CONSTANT
from wayside.measure.mixture import Mixture, Part, widened
from wayside.measure.phasefit import PhaseFit, Priors, fit_phase
from wayside.measure.phases import clear_run, track_phase
from wayside.measure.polished import Polished
from wayside.measure.unrest import Unrest
from wayside.measure.unrestsize import A_RIDE, cost_of
from wayside.physics.passby import PassBy

# a ride that explains so much more (nats) is hinted at, and told
HINT, TOLD = 1.0, 8.0
# what else a coder or a neighbouring line does to each block, to begin with, over the noise
JITTER = 0.3


@dataclass(frozen=True)
class Astray:
    """What a ride that strays explains of a phase that seems kept.

    Parameters
    ----------
    nats : float
        How much likelier it makes the phase.
    fit : PhaseFit
        The pass-by of such a ride.
    """

    nats: float
    fit: PhaseFit

    @property
    def hinted(self) -> bool:
        """True where the sound speaks for it."""
        return self.nats > HINT

    @property
    def told(self) -> bool:
        """True where nothing else will do."""
        return self.nats > TOLD

    def beside(self, kept: Mixture) -> Mixture:
        """Return what is known of one who may stray, from what is of one who does not."""
        part = part_of(self.fit)
        return widened(kept, Part(part.passby, part.covariance, kept.height + self.nats), CONSTANT)


def may_stray(polished: Polished, p: PassBy, priors: Priors, job: Job) -> Astray | None:
    """Return what a ride that strays explains; None where too little is heard to tell.

    Parameters
    ----------
    polished : Polished
    p : PassBy
    priors : Priors
    job : Job
    """
    blocks = polished.blocks.with_level()
    first, last = clear_run(blocks, p, USABLE_PHASE_RAD)
    if last - first < LEAST_BLOCKS:
        return None
    used = blocks.between(first, last)
    noise = track_phase(used, p, near=True).noise
    jitter = Unrest(jitter=JITTER * float(np.median(noise)) * used.block_s)
    try:
        even = fit_phase(used, p, CONSTANT, priors, near=True, job=job, begin=jitter)
        begin = replace(A_RIDE, jitter=even.unrest.jitter)
        ride = fit_phase(used, p, CONSTANT, priors, near=True, job=job, begin=begin)
    except LinAlgError:
        return None
    return Astray(ride.loglik - cost_of(ride.unrest) - even.loglik, ride)
