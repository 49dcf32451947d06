"""A fit averaged over what the sound cannot decide about the source's unrest.

Whether a wheel's speed wavered by half a per cent often cannot be told from one pass: the
waver then looks like Doppler shift. The fits with and without it are weighed by their
likelihood and averaged, with the spread between them added to the covariance (Bayesian model
averaging; Hoeting et al. 1999, *Statist. Sci.* 14, 382).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from wayside.measure.ladder import moved, scale_of
from wayside.measure.motion import to_vector
from wayside.measure.phasefit import PhaseFit

# the first is the fit without; shares of belief before the sound is heard
BELIEFS = ((0.0, 0.7), (0.004, 0.15), (0.012, 0.15))
FACTORS = (0, 1, 2)
LEAST_WEIGHT = 1e-3


def averaged(fits: Sequence[PhaseFit], beliefs: Sequence[float]) -> PhaseFit:
    """Return the average of fits of the same model under different unrest.

    Parameters
    ----------
    fits : sequence of PhaseFit
        The leading one first; its track and unrest are kept.
    beliefs : sequence of float
        Prior weight of each.
    """
    size = np.array([f.loglik for f in fits]) + np.log(beliefs)
    weights = np.exp(size - size.max())
    loglik = float(size.max() + np.log(weights.sum()))
    weights /= weights.sum()
    lead, free = fits[0], fits[0].free
    p = lead.mean
    scale = scale_of(p)[list(free)]
    steps, covariances = [], []
    for fit in fits:
        theta, other = to_vector(p), to_vector(fit.mean)
        # positive parameters are averaged as factors
        step = (other - theta) / scale_of(p)
        for i in FACTORS:
            step[i] = np.log(other[i] / theta[i])
        steps.append(step[list(free)])
        own = scale_of(fit.mean)[list(free)]
        covariances.append(fit.covariance / np.outer(own, own))
    steps_, mean = np.array(steps), weights @ np.array(steps)
    apart = steps_ - mean
    covariance = np.einsum("i,ijk->jk", weights, np.array(covariances))
    covariance += np.einsum("i,ij,ik->jk", weights, apart, apart)
    best = moved(p, mean, free, most=np.inf)
    scale = scale_of(best)[list(free)]
    return replace(
        lead,
        passby=best,
        ahead=0.0,
        covariance=covariance * np.outer(scale, scale),
        loglik=loglik,
    )
