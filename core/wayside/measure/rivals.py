"""Other maxima of a faint tone's likelihood, which a single curvature would leave out.

A faint tone fits almost as well a cycle or two beside the best curve. What is known then is a
mixture of the maxima, each with its own curvature, weighed by height and width (Laplace's
method at every mode; Gelman et al. 2013, *Bayesian Data Analysis*, ch. 4). Mean and covariance
of the mixture are what is reported.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.ladder import CONSTANT, Rung, moved
from wayside.measure.mixture import Mixture, Part, mixed, steps_between
from wayside.measure.polished import Polished
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

FAINT_GAIN = 350.0
TRIED, TRIED_BESIDE, HOPS = 16, 14, 8
BESIDE_IN_U = 4.0
SPREAD = (0.35, 0.7, 0.6)
# a brief pass slips as easily when it is louder
BRIEF_FAINT_GAIN = 3000.0
# blocks show a brief pass but roughly
LEAST_SHARE, BLOCK_SHARE = math.exp(-9.0), math.exp(-20.0)
SAME_IN_U = 2.0


def with_rivals(polished: Polished, job: Job) -> Mixture:
    """Return the mixture of the maxima, of the parameters of constant speed.

    Parameters
    ----------
    polished : Polished
        The best fit over the whole stretch.
    job : Job
    """
    return mixed(summits(polished, job), CONSTANT)


def is_faint(polished: Polished) -> bool:
    """Return True for a tone so faint, or a pass so brief, that other maxima may count."""
    return polished.rung.gain < (BRIEF_FAINT_GAIN if polished.brief else FAINT_GAIN)


def summits(polished: Polished, job: Job) -> list[Part]:
    """Return the maxima that count, best first; see `with_rivals`."""
    lead = rung_part(polished.rung)
    if not is_faint(polished):
        return [lead]
    blocks = _modes(polished, rung_part(polished.climb_blocks(polished.rung.passby)), job)
    near = _near(blocks, BLOCK_SHARE if polished.waveform else LEAST_SHARE)
    if polished.waveform is None:
        return near
    parts = [lead]
    for rough in near:
        job.check()
        _put_in(parts, rung_part(polished.climb(rough.passby)))
    return _near(parts, LEAST_SHARE)


def _modes(polished: Polished, lead: Part, job: Job) -> list[Part]:
    """Return the maxima that the blocks show, moving on to any that is better than the last."""
    rng = np.random.default_rng(12)
    known, centre = [lead], lead
    starts = _scattered(lead.passby)
    for _ in range(HOPS):
        tries: list[tuple[Callable[[PassBy], Rung], PassBy]] = [
            (polished.climb_blocks, start) for start in _beside(centre, rng)
        ]
        tries += [(polished.climb_up, start) for start in starts]
        for climb, start in tries:
            job.check()
            _put_in(known, rung_part(climb(start)))
        best = max(known, key=lambda part: part.height)
        if best is centre:
            break
        centre, starts = best, _scattered(best.passby)
    return known


def _near(parts: list[Part], share: float) -> list[Part]:
    """Return the maxima that weigh at least `share` of the best, best first."""
    best = max(part.height for part in parts)
    near = [p for p in parts if p.height > best + math.log(share)]
    return sorted(near, key=lambda part: -part.height)


def rung_part(rung: Rung) -> Part:
    """Return a maximum of a coherent source's likelihood as a part of a mixture."""
    covariance = np.linalg.pinv(2.0 * rung.normal, rcond=1e-14, hermitian=True)
    # the height of the mode plus the log of its width
    width = 0.5 * float(np.linalg.slogdet(covariance)[1])
    return Part(rung.passby, np.asarray(covariance), rung.gain + width)


def _put_in(known: list[Part], other: Part) -> None:
    """Put a maximum in that is not known yet."""
    if not any(_same(other, one) for one in known):
        known.append(other)


def _same(one: Part, other: Part) -> bool:
    step = steps_between(other.passby, one.passby, CONSTANT)
    inverse = np.linalg.pinv(other.covariance, rcond=1e-14, hermitian=True)
    return float(step @ inverse @ step) < SAME_IN_U**2


def _beside(part: Part, rng: np.random.Generator) -> list[PassBy]:
    """Return starts a few standard uncertainties away: maxima lie a cycle or so apart."""
    variance, axes = np.linalg.eigh(part.covariance)
    root = axes * np.sqrt(np.maximum(variance, 0.0))
    moves = BESIDE_IN_U * rng.normal(0.0, 1.0, (TRIED_BESIDE, len(CONSTANT)))
    return [moved(part.passby, root @ move, CONSTANT, most=1.0) for move in moves]


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
