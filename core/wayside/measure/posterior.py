"""What is known of a brief, faint pass, where no curvature tells it.

A pass of a few cycles fits almost as well a cycle or two beside the best curve, and its maxima run
into one another: a normal distribution at each of them (see `wayside.measure.rivals`) is then
narrower than what the sound leaves open. So the likelihood is weighed over curves drawn about all
that many starts lead to, in rounds that draw again about those that weigh most (population Monte
Carlo; Cappé et al. 2004, *J. Comput. Graph. Stat.* 13, 907); all rounds count together, each curve
against the density with which any of them would have drawn it (Veach and Guibas 1995, balance
heuristic). Source pitch, speed and distance are taken as equally likely in their logarithms, the
passing time in itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure.demod import Blocks
from wayside.measure.ladder import CONSTANT, moved, scale_of
from wayside.measure.mixture import Mixture, Part, shares_of, steps_between
from wayside.measure.polished import Polished
from wayside.measure.swarm import FARTHER, blocks_within, log_likelihoods, possible
from wayside.measure.waveform import Waveform
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

DRAWN, LEAST_ROUNDS, MOST_ROUNDS = 160, 4, 10
# of the curves that many starts lead to, so many that differ by more than this (uncertainties)
# are followed to the top; a round is drawn about so many
LED_TO, APART, STEPS, CENTRES = 60, 2.5, 8, 60
# curves are spread first: pitch (of its Doppler shift), log speed, log distance, crossing times;
# drawn so often, then again about so many that shares of the likelihood choose; looked at for so
# many crossing times to either side
SPREAD = np.array([0.06, 0.12, 0.2, 0.25])
SPREAD_OUT, SHARES, FOLLOWED, REACH = (16_000, 5000, 5000), (0.15, 0.35, 0.7), 250, 16.0
# how far about them, in uncertainties of the best fit
NEAR, WIDE = (0.4, 1.0), (0.5, 1.0, 2.0)
# enough, and too few to be believed: curves that weigh as much as all together
ENOUGH, TOO_FEW = 120.0, 25.0
# parts told of the whole, each so wide beside it (West 1993, *J. R. Stat. Soc. B* 55, 409)
PARTS, PART_WIDTH = 48, 0.3
PASSING = CONSTANT.index(3)


@dataclass(frozen=True)
class _Round:
    """Curves drawn about centres, shape (m, 4), some at each of the scales."""

    centres: FloatArray
    scales: tuple[float, ...]
    root: FloatArray  # (4, 4): of the covariance at scale 1

    def drawn(self, count: int, rng: np.random.Generator) -> FloatArray:
        about = self.centres[rng.integers(self.centres.shape[0], size=count)]
        scale = rng.choice(self.scales, size=(count, 1))
        return about + (scale * rng.normal(size=about.shape)) @ self.root.T

    def log_density(self, x: FloatArray) -> FloatArray:
        """Return the log-density of being drawn at `x`, shape (n, 4)."""
        size = x.shape[1]
        white = np.linalg.solve(self.root, (x[:, None, :] - self.centres).reshape(-1, size).T)
        square = np.sum(white**2, axis=0).reshape(x.shape[0], self.centres.shape[0])
        terms = [-0.5 * square / s**2 - size * math.log(s) for s in self.scales]
        logs = np.logaddexp.reduce(np.concatenate(terms, axis=1), axis=1)
        norm = 0.5 * size * math.log(2.0 * math.pi) + float(np.linalg.slogdet(self.root)[1])
        return np.asarray(logs - norm - math.log(len(self.scales) * self.centres.shape[0]))


def sampled(polished: Polished, maxima: Mixture, job: Job, seed: int = 13) -> Mixture | None:
    """Return the mean, covariance and a mixture for the posterior of a constant speed.

    Parameters
    ----------
    polished : Polished
        The best fit over the whole stretch, on samples.
    maxima : Mixture
        Its maxima, see `wayside.measure.rivals`.
    job : Job
    seed : int
        Names the random numbers.

    Returns
    -------
    Mixture or None
        None where too few of the curves drawn weigh anything, or the best has no width or lies
        far outside what a source can do.
    """
    wave = polished.waveform
    assert wave is not None
    rng = np.random.default_rng(seed)
    lead = maxima.parts[0]
    try:
        root: FloatArray = np.asarray(np.linalg.cholesky(lead.covariance), dtype=np.float64)
    except LinAlgError:
        return None
    itself = _rows(lead.passby, np.zeros((1, len(CONSTANT))))
    if not possible(itself, lead.passby.sound_speed_mps)[0]:
        return None
    rounds: list[_Round] = []
    centres = _starts(polished, maxima, root, job, rng)
    scales: tuple[float, ...] = WIDE
    x, gains, density = np.zeros((0, len(CONSTANT))), np.zeros(0), np.zeros(0)
    while True:
        job.step(0.3, "Weighing what else would fit")
        rounds.append(_Round(centres, scales, root))
        new = rounds[-1].drawn(DRAWN, rng)
        # what was drawn before might have been drawn now, and the other way round
        density = np.concatenate(
            [
                np.logaddexp(density, rounds[-1].log_density(x)),
                np.logaddexp.reduce([r.log_density(new) for r in rounds], axis=0),
            ]
        )
        x = np.concatenate([x, new])
        gains = np.concatenate([gains, _gains(wave, lead.passby, new, job)])
        logs = gains - (density - math.log(len(rounds)))
        weight = shares_of(logs)
        effective = 1.0 / float(np.sum(weight**2))
        done = len(rounds)
        if done >= MOST_ROUNDS or (done >= LEAST_ROUNDS and effective >= ENOUGH):
            break
        centres, scales = x[_resampled(weight, CENTRES, rng)], NEAR
    if effective < TOO_FEW:
        return None
    height = float(np.logaddexp.reduce(logs)) - math.log(logs.size)
    return _mixture(lead.passby, x, weight, height, rng)


def _starts(
    polished: Polished, maxima: Mixture, root: FloatArray, job: Job, rng: np.random.Generator
) -> FloatArray:
    """Return the maxima known and those that curves spread wider lead to, shape (m, 4)."""
    lead = maxima.parts[0].passby
    found = [steps_between(lead, part.passby, CONSTANT) for part in maxima.parts]
    seen = [np.linalg.solve(root, step) for step in found]
    for step in _spread_out(polished.blocks, lead, root, job, rng):
        at = np.linalg.solve(root, step)
        if np.min(np.sum((np.array(seen) - at) ** 2, axis=1)) < APART**2:
            continue
        job.check()
        top = polished.climb_blocks(moved(lead, step, CONSTANT, most=math.inf), steps=STEPS)
        found.append(steps_between(lead, top.passby, CONSTANT))
        seen += [at, np.linalg.solve(root, found[-1])]
        if len(found) >= LED_TO:
            break
    return np.array(found)


def _spread_out(
    blocks: Blocks, lead: PassBy, root: FloatArray, job: Job, rng: np.random.Generator
) -> FloatArray:
    """Return steps to curves that shares of the likelihood leave open, likeliest first."""
    shift = lead.speed_mps / lead.sound_speed_mps
    width = SPREAD * np.array([shift, 1.0, 1.0, 1.0])
    wide = np.diag(width)
    # of faster curves, further ones
    wide[2, 1] = FARTHER * width[1]
    last = _Round(np.zeros((1, len(CONSTANT))), (1.0,), wide)
    c = lead.sound_speed_mps
    within = blocks_within(blocks, _rows(lead, last.centres), 1, c, REACH)
    for count, share in zip(SPREAD_OUT, SHARES, strict=True):
        x = last.drawn(count, rng)
        x = x[possible(_rows(lead, x), c)]
        value = log_likelihoods(blocks, _rows(lead, x), within[1] - within[0], within, c, job)
        weight = shares_of(share * value - last.log_density(x))
        last = _Round(x[_resampled(weight, FOLLOWED, rng)], WIDE, root / math.sqrt(share))
    return np.asarray(x[np.argsort(-value)])


def _rows(lead: PassBy, x: FloatArray) -> FloatArray:
    """Return curves as `wayside.measure.swarm` takes them, from steps, shape (m, 4)."""
    return np.column_stack(
        [
            lead.source_hz * np.exp(x[:, 0]),
            x[:, 1] + math.log(lead.speed_mps),
            x[:, 2] + math.log(lead.closest_m),
            x[:, 3] * lead.closest_m / lead.speed_mps + lead.passing_time_s,
        ]
    )


def _gains(wave: Waveform, lead: PassBy, x: FloatArray, job: Job) -> FloatArray:
    """Return the likelihood of curves a source can make (nats), shape (m,)."""
    out = np.full(x.shape[0], -math.inf)
    for i in np.flatnonzero(possible(_rows(lead, x), lead.sound_speed_mps)):
        job.check()
        out[i] = wave.gain_at(moved(lead, x[i], CONSTANT, most=math.inf))
    return out


def _resampled(weight: FloatArray, count: int, rng: np.random.Generator) -> npt.NDArray[np.intp]:
    """Return which are chosen, each as often as it weighs (systematic resampling)."""
    at = (np.arange(count) + rng.random()) / count
    return np.searchsorted(np.cumsum(weight), at * (1.0 - 1e-12))


def _mixture(
    lead: PassBy, x: FloatArray, weight: FloatArray, height: float, rng: np.random.Generator
) -> Mixture:
    mean = weight @ x
    apart = x - mean
    covariance = (apart * weight[:, None]).T @ apart
    passby = moved(lead, mean, CONSTANT, most=math.inf)
    # drawn in, by as much as each part's own width spreads them again
    kept = math.sqrt(1.0 - PART_WIDTH**2)
    chosen = x[_resampled(weight, PARTS, rng)]
    parts = []
    # as high as the parts of a mixture of maxima, which leave the same constant out
    each = height - math.log(PARTS) - 0.5 * len(CONSTANT) * math.log(2.0 * math.pi)
    for step in mean + kept * (chosen - mean):
        p = moved(lead, step, CONSTANT, most=math.inf)
        parts.append(Part(p, _seen_from(lead, p, PART_WIDTH**2 * covariance), each))
    return Mixture(passby, _seen_from(lead, passby, covariance), tuple(parts))


def _seen_from(lead: PassBy, p: PassBy, covariance: FloatArray) -> FloatArray:
    """Return a covariance in steps of `lead` in those of `p`, whose crossing time differs."""
    ratio = np.ones(len(CONSTANT))
    ratio[PASSING] = scale_of(lead)[3] / scale_of(p)[3]
    return np.asarray(covariance * np.outer(ratio, ratio))
