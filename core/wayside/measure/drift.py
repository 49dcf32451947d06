"""A tone whose own pitch drifts, as a battery runs down or a horn loses pressure.

Far from the passing the Doppler shift stands still and a drift goes on, so that a clear tone tells
the two apart. Left out, a drift of a few hundredths of a per cent a second is taken for speed.
The tone's phase gains ``f0 g tau^2/2`` cycles, with g the drift and tau the time of emission since
the passing: a column beside those of the motion. Whether a tone drifts is not known beforehand; it
is fitted with and without, and both are weighed by their likelihood (Bayesian model averaging;
Hoeting et al. 1999, *Statist. Sci.* 14, 382).
"""

from __future__ import annotations

import math

import numpy as np

from wayside.jobs import Job
from wayside.measure.breadth import part_of, parts_of
from wayside.measure.demod import Blocks
from wayside.measure.doubt import LEAST_SHARE
from wayside.measure.fitted import Drift
from wayside.measure.mixture import Mixture, Part, mixed, weights_of
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import Beside, PhaseFit, Priors, fit_phase, linear_data
from wayside.measure.unrest import least_squares
from wayside.physics.passby import PassBy

# how fast tones drift (1/s), some less and some more, and how many do (common practice, no source)
SLOW_PER_S, FAST_PER_S, SHARE = 1e-4, 1e-3, 0.3
# turns of working out what it does along the fit
TURNS = 2


def drifting(blocks: Blocks, p: PassBy, beside: Beside | None = None) -> Beside:
    """Return what a drift does to the phase, after what else turns it."""
    tau = phase_model(p, blocks.times_s).place.tau
    column, u = 0.5 * p.source_hz * tau[:, None] ** 2, np.array([FAST_PER_S])
    if beside is not None:
        return beside.and_also(column, u)
    return Beside(column, u, p, np.zeros((tau.size, 5)))


def averaged_with_drift(
    blocks: Blocks, fit: PhaseFit, priors: Priors, beside: Beside | None, job: Job
) -> tuple[Mixture, PhaseFit, Beside | None, Drift | None]:
    """Return the average of a fit of a steady tone and one that drifts.

    Parameters
    ----------
    blocks : Blocks
    fit : PhaseFit
        Of a steady one, of these blocks.
    priors : Priors
    beside : Beside or None
        What else turns the phase.
    job : Job

    Returns
    -------
    average : Mixture
    likelier : PhaseFit
        Of the two fits.
    beside : Beside or None
        What turns the phase in it.
    drift : Drift or None
        That of the tone, if it is likelier to drift than not.
    """
    other, open_ = _drifted(blocks, fit, priors, beside, job)
    drift = _drift_of(other, priors, open_)
    belief = SHARE * _usual(drift)
    share = weights_of([part_of(fit, 1.0 - SHARE), part_of(other, belief)])[1]
    parts: list[Part] = []
    if share < 1.0 - LEAST_SHARE:
        parts += parts_of(blocks, fit, priors, 1.0 - SHARE, beside, job)
    if share > LEAST_SHARE:
        parts += parts_of(blocks, other, priors, belief, open_, job)
    average = mixed(parts, fit.free)
    if share > 0.5:
        return average, other, open_, drift
    return average, fit, beside, None


def _drifted(
    blocks: Blocks, fit: PhaseFit, priors: Priors, beside: Beside | None, job: Job
) -> tuple[PhaseFit, Beside]:
    """Return the fit of a tone that drifts, from that of a steady one, and what turns its phase."""
    other, begin = fit, None
    for _ in range(TURNS):
        # what a drift does goes by when the sound was sent, which the steady fit has wrong
        p = other.passby
        open_ = drifting(blocks, p, beside)
        other = fit_phase(blocks, p, fit.free, priors, job=job, begin=begin, beside=open_)
        begin = other.unrest
    return other, open_


def _drift_of(fit: PhaseFit, priors: Priors, beside: Beside) -> Drift:
    """Return the drift that a fit has, the last of what else turns its phase."""
    data = linear_data(fit.track, fit.passby, fit.free, priors, beside)
    found = least_squares(data, fit.unrest)
    # the constant comes last
    return Drift(float(found.step[-2]), float(np.sqrt(found.covariance[-2, -2])))


def _usual(drift: Drift) -> float:
    """Return how much likelier a drift is that may be slow than one held to be fast."""
    slow, fast = (
        math.exp(-0.5 * drift.per_s**2 / (s**2 + drift.u**2)) / math.hypot(s, drift.u)
        for s in (SLOW_PER_S, FAST_PER_S)
    )
    return 0.5 * (1.0 + slow / fast)
