"""A fit cut along the crossing time, where the sound leaves that wide open.

How sure the other parameters are depends on the crossing time d/v itself: the slower the pitch
falls, the less is seen of when it was half-way. Where d/v is open by tens of per cent, one
normal distribution at the summit tells the width there and not that of its surroundings. So the
posterior is multiplied by narrow normal windows side by side along log(d/v), whose sum is even;
each product is narrow enough for a fit of its own, and together they are the posterior again
(a mixture of Laplace approximations; Tierney and Kadane 1986, *J. Am. Stat. Assoc.* 81, 82).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.linalg import LinAlgError

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.ladder import moved, scale_of
from wayside.measure.mixture import Part
from wayside.measure.phasefit import Beside, PhaseFit, Priors, fit_phase
from wayside.measure.phases import Followed, track_phase
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

WIDE = 0.12
"""Standard deviation of log(d/v) from which the width itself changes within it."""
APART, WINDOW = 1.2, 0.6
FAINT, MOST = 6.0, 5
# nothing crosses in so many times as long, or as short (log)
FARTHEST = math.log(1000.0)
SPEED, CLOSEST = 1, 2


def part_of(fit: PhaseFit, belief: float = 1.0) -> Part:
    """Return a fit as a part of a mixture; `belief` is its weight before the sound is heard."""
    own = scale_of(fit.mean)[list(fit.free)]
    return Part(fit.mean, fit.covariance / np.outer(own, own), fit.loglik + math.log(belief))


def parts_of(
    blocks: Blocks,
    fit: PhaseFit,
    priors: Priors,
    belief: float = 1.0,
    beside: Beside | None = None,
    job: Job = QUIET,
) -> list[Part]:
    """Return the parts that a fit is made of along the crossing time, one if it is sure.

    Parameters
    ----------
    blocks : Blocks
    fit : PhaseFit
        Fit of these blocks under the same prior knowledge.
    priors : Priors
    belief : float
        Weight of the fit before the sound is heard.
    beside : Beside, optional
        What else may turn the phase (see `wayside.measure.phasefit.fit_phase`).
    job : Job
    """
    whole = part_of(fit, belief)
    open_by = _open_by(fit)
    if open_by is None:
        return [whole]
    along, sd = open_by
    crossing_s = fit.passby.closest_m / fit.passby.speed_mps
    # followed anew along every window the phase would be another by chance, and the windows with it
    followed = fit.followed or Followed(fit.passby, track_phase(blocks, fit.passby, fit.near))

    def window(number: int, start: PassBy) -> PhaseFit | None:
        job.check()
        if abs(number * APART * sd) > FARTHEST:
            return None
        at = crossing_s * math.exp(number * APART * sd)
        known = replace(priors, crossing_s=(at, at * WINDOW * sd))
        try:
            return fit_phase(
                blocks,
                start,
                fit.free,
                known,
                fit.unrest,
                job=job,
                beside=beside,
                followed=followed,
            )
        except LinAlgError:
            return None

    middle = window(0, fit.passby)
    if middle is None:
        return [whole]
    windows = [middle]
    for side in (-1, 1):
        last = middle
        for number in range(1, MOST + 1):
            start = moved(last.passby, side * APART * sd * along, fit.free)
            near = window(side * number, start)
            if near is None:
                break
            windows.append(near)
            last = near
            if near.loglik < max(w.loglik for w in windows) - FAINT:
                break
    share = belief * APART * sd
    return [_by_time(part_of(one, share), crossing_s) for one in windows]


def _by_time(part: Part, crossing_s: float) -> Part:
    """Return a part with its height counted by the second.

    Any passing time is as likely as any other, while the steps of a fit are in crossing times.
    """
    own_s = part.passby.closest_m / part.passby.speed_mps
    return replace(part, height=part.height + math.log(own_s / crossing_s))


def _open_by(fit: PhaseFit) -> tuple[FloatArray, float] | None:
    """Return the step that goes with one in log(d/v), and how far that is open."""
    if SPEED not in fit.free or CLOSEST not in fit.free:
        return None
    ratio = np.zeros(len(fit.free))
    ratio[fit.free.index(CLOSEST)], ratio[fit.free.index(SPEED)] = 1.0, -1.0
    shared = part_of(fit).covariance @ ratio
    variance = float(ratio @ shared)
    if not variance > WIDE**2:
        return None
    return shared / variance, math.sqrt(variance)
