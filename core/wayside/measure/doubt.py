"""A fit averaged over what the sound cannot decide about how the rider rode.

Whether a wheel's speed wavered by half a per cent often cannot be told from one pass: the
waver then looks like Doppler shift. Nor can it be told whether the rider coasted, as most do
past a microphone, or braked or sprinted. The fits under each belief are weighed by their
likelihood and averaged, with the spread between them added to the covariance (Bayesian model
averaging; Hoeting et al. 1999, *Statist. Sci.* 14, 382).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from wayside.measure.breadth import part_of
from wayside.measure.mixture import Mixture, Part, mixed, weights_of
from wayside.measure.phasefit import PhaseFit


@dataclass(frozen=True)
class Belief:
    """One way a rider may have ridden.

    Parameters
    ----------
    share : float
        How far it is believed before the sound is heard; the shares add up to 1.
    waver : float
        Standard deviation of the speed (fraction of it).
    looser : float
        How many times less the acceleration is held to that of coasting.
    """

    share: float
    waver: float = 0.0
    looser: float = 1.0


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
    whole = [part_of(fit, belief.share) for fit, belief in zip(fits, beliefs, strict=True)]
    parts: list[Part] = []
    for part, fit, belief, weight in zip(whole, fits, beliefs, weights_of(whole), strict=True):
        parts += cut(fit, belief) if weight > LEAST_SHARE else [part]
    return mixed(parts, fits[0].free)
