"""A fit averaged over what the sound cannot decide about how the rider rode.

Whether a wheel's speed wavered by half a per cent often cannot be told from one pass: the
waver then looks like Doppler shift. Nor can it be told whether the rider coasted, as most do
past a microphone, or braked or sprinted. The fits under each belief are weighed by their
likelihood and averaged, with the spread between them added to the covariance (Bayesian model
averaging; Hoeting et al. 1999, *Statist. Sci.* 14, 382).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wayside.jobs import Job
from wayside.measure.breadth import part_of
from wayside.measure.demod import Blocks
from wayside.measure.mixture import Mixture, Part, mixed, weights_of
from wayside.measure.phasefit import PhaseFit, Priors, fit_phase
from wayside.measure.phases import Followed, track_phase

# how long a rider keeps pushing or resting, and how long a slope or a wind lasts (common
# practice, no source)
PUSH_S, SLOPE_S = 1.0, 3.0


@dataclass(frozen=True)
class Belief:
    """One way a rider may have ridden.

    Parameters
    ----------
    share : float
        How far it is believed before the sound is heard; the shares add up to 1.
    waver, lasts_s : float
        Standard deviation of the speed (fraction of it), and its correlation time (s).
    looser : float
        How many times less the acceleration is held to that of coasting.
    """

    share: float
    waver: float = 0.0
    lasts_s: float = PUSH_S
    looser: float = 1.0

    def applied(self, priors: Priors) -> Priors:
        """Return prior knowledge with the acceleration held as it is under this belief."""
        if self.looser == 1.0:
            return priors
        assert priors.acceleration_mps2 is not None
        mean, sd = priors.acceleration_mps2
        return replace(priors, acceleration_mps2=(mean, sd * self.looser))


LOOSER, LOOSER_SHARE = 5.0, 0.05
LEAST_SHARE = 0.05
SURE = Belief(1.0)
BELIEFS = (
    Belief(0.75),
    Belief(0.05, waver=0.0015),
    Belief(0.07, waver=0.004),
    Belief(0.08, waver=0.012),
    Belief(LOOSER_SHARE, looser=LOOSER),
)
# of a hum that keeps its phase for seconds, which shows what no other does: the ground is uneven
KEPT_S = 1.0
OF_THE_KEPT = (
    Belief(0.50),
    Belief(0.25, waver=0.0035, lasts_s=SLOPE_S),
    *BELIEFS[1:],
)


def beliefs_of(coherence_s: float) -> tuple[Belief, ...]:
    """Return how a wheel may be ridden whose hum keeps its phase for so long (s)."""
    return OF_THE_KEPT if coherence_s > KEPT_S else BELIEFS


def under(
    blocks: Blocks, fit: PhaseFit, priors: Priors, beliefs: Sequence[Belief], job: Job
) -> list[PhaseFit]:
    """Return a fit made anew under each of several beliefs, of the phase as it was followed.

    Parameters
    ----------
    blocks : Blocks
    fit : PhaseFit
        That of a steady rider.
    priors : Priors
    beliefs : sequence of Belief
    job : Job
    """
    if not beliefs:
        return []
    p = fit.passby
    followed = Followed(p, track_phase(blocks, p, fit.near))
    fits = []
    for belief in beliefs:
        begin = replace(fit.unrest, waver=belief.waver, waver_s=belief.lasts_s)
        known = belief.applied(priors)
        one = fit_phase(blocks, p, fit.free, known, job=job, begin=begin, followed=followed)
        fits.append(one)
    return fits


def _whole(fits: Sequence[PhaseFit], beliefs: Sequence[Belief]) -> list[Part]:
    return [part_of(fit, belief.share) for fit, belief in zip(fits, beliefs, strict=True)]


def share_of_wavering(fits: Sequence[PhaseFit], beliefs: Sequence[Belief]) -> float:
    """Return how likely it is that the speed wavered, of fits under each belief."""
    wavers = [belief.waver > 0 for belief in beliefs]
    return float(np.sum(weights_of(_whole(fits, beliefs))[wavers]))


def averaged(
    fits: Sequence[PhaseFit],
    beliefs: Sequence[Belief],
    cut: Callable[[PhaseFit, Belief], list[Part]],
) -> Mixture:
    """Return the average of fits of the same model under different unrest.

    Parameters
    ----------
    fits : sequence of PhaseFit
    beliefs : sequence of Belief
        The one each fit rests on.
    cut : callable
        Returns the parts a fit is made of; asked of those that count.
    """
    whole = _whole(fits, beliefs)
    parts: list[Part] = []
    for part, fit, belief, weight in zip(whole, fits, beliefs, weights_of(whole), strict=True):
        parts += cut(fit, belief) if weight > LEAST_SHARE else [part]
    return mixed(parts, fits[0].free)
