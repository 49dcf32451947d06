"""Other maxima of a faint tone's likelihood, which a single curvature would leave out.

A faint tone fits almost as well a cycle or two beside the best curve. What is known then is a
mixture of the maxima, each with its own curvature, weighed by height and width (Laplace's
method at every mode; Gelman et al. 2013, *Bayesian Data Analysis*, ch. 4). Mean and covariance
of the mixture are what is reported.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, Rung, climb, moved
from wayside.measure.mixture import Part, mixed, steps_between
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

FAINT_GAIN = 350.0
TRIED = 30
SPREAD = (0.35, 0.7, 0.6)
LEAST_SHARE = np.exp(-9.0)
SAME_IN_U = 1.5


def with_rivals(blocks: Blocks, rung: Rung, job: Job) -> tuple[PassBy, FloatArray]:
    """Return the mean pass-by over the maxima and its covariance in scaled parameters.

    Parameters
    ----------
    blocks : Blocks
    rung : Rung
        The best fit over the whole stretch.
    job : Job
    """
    parts = [_part(rung)]
    if rung.gain < FAINT_GAIN:
        for start in _scattered(rung.passby):
            job.check()
            other = _part(climb(blocks, start, rung.window_blocks))
            if not any(_same(other, known) for known in parts):
                parts.append(other)
    best = max(parts, key=lambda part: part.height)
    near = [p for p in parts if p.height > best.height + np.log(LEAST_SHARE)]
    near.sort(key=lambda part: -part.height)
    return mixed(near, CONSTANT)


def _part(rung: Rung) -> Part:
    covariance = np.linalg.pinv(2.0 * rung.normal, rcond=1e-14, hermitian=True)
    # the height of the mode plus the log of its width
    width = 0.5 * float(np.linalg.slogdet(covariance)[1])
    return Part(rung.passby, np.asarray(covariance), rung.gain + width)


def _same(one: Part, other: Part) -> bool:
    step = steps_between(other.passby, one.passby, CONSTANT)
    u = np.sqrt(np.diag(other.covariance))
    return bool(np.all(np.abs(step) < SAME_IN_U * u))


def _scattered(p: PassBy) -> list[PassBy]:
    rng = np.random.default_rng(11)
    crossing = p.closest_m / p.speed_mps
    shift = p.speed_mps / p.sound_speed_mps
    out = []
    for faster, farther, later, higher in rng.normal(0.0, 1.0, (TRIED, 4)):
        step = np.array(
            [0.25 * shift * higher, SPREAD[0] * faster, SPREAD[1] * farther, SPREAD[2] * later]
        )
        q = moved(p, step, CONSTANT, most=2.0)
        out.append(q.with_(passing_time_s=p.passing_time_s + SPREAD[2] * later * crossing))
    return out
