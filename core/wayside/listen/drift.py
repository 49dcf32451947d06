"""Fits of a changing speed and of a drifting source pitch, without habits of riders.

Phase left over = (derivatives) x (changes of the motion) + pitch drift + constant + unrest +
noise, by generalised least squares as in `wayside.measure.phasefit`. For a source tied to the
speed the drift *is* the acceleration over the speed. For a fixed pitch both are free: the
drift bends the phase evenly about the passing, an acceleration oddly, so they can be told
apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from wayside.jobs import Job
from wayside.measure.demod import Blocks, demodulate
from wayside.measure.drift import counted, drift_cycles
from wayside.measure.fitted import DECISIVE
from wayside.measure.incoherent import fit_wandering
from wayside.measure.ladder import moved, scale_of
from wayside.measure.lines import harmonic_series
from wayside.measure.phasefit import Beside, Priors, fit_phase, linear_data
from wayside.measure.phases import track_phase
from wayside.measure.refine import Sound
from wayside.measure.reflection import REFLECTED, find_reflection
from wayside.measure.result import Fit, FloatArray
from wayside.measure.unrest import LinearData, least_squares
from wayside.measure.unrestsize import estimate
from wayside.physics.passby import PassBy

FREE = (0, 1, 2, 3, 4)
USABLE_PHASE_RAD = 0.7
LEAST_BLOCKS = 24
MOST_POINTS = 240
ROUNDS = 4


@dataclass(frozen=True)
class Rate:
    """A relative rate of change (1/s) with its standard uncertainty."""

    value: float
    u: float


@dataclass(frozen=True)
class Changes:
    """What changed through the pass.

    Parameters
    ----------
    pitch : Rate
        Of the source's own pitch.
    speed : Rate
        Of the speed; the same as `pitch` for a source tied to it.
    acceleration_mps2, u_acceleration : float
        With its standard uncertainty, speed of sound held (m/s^2).
    """

    pitch: Rate
    speed: Rate
    acceleration_mps2: float
    u_acceleration: float


def envelopes(sound: Sound, fit: Fit) -> Blocks:
    """Return the envelopes of the harmonics along a fitted pass-by, in blocks short enough."""
    p = fit.passby
    crossing = p.closest_m / p.speed_mps
    memory = min(fit.coherence_time_s, 2.0 * crossing)
    heard = float(np.clip(p.passing_time_s, sound.start_s, sound.stop_s))
    reach = float(np.clip(3.0 * crossing, 0.4, 3.0))
    near = sound.cut(heard - reach, heard + reach)
    width = min(0.5 * memory, near.stop_s - near.start_s)
    divisor, found = harmonic_series(near.samples, near.rate_hz, near.start_s, p, width)
    harmonics = tuple(h // divisor for h in found if h % divisor == 0) or (1,)
    shortest = 2.5 / p.source_hz
    block = max(shortest, min(memory / 8.0, crossing / 6.0, 0.05))
    low = sound.below(1.1 * max(harmonics) * p.approach_hz + 2.0 / block)
    return demodulate(low.samples, low.rate_hz, low.start_s, p, harmonics, block)


def clear_run(blocks: Blocks, p: PassBy, near: bool) -> Blocks | None:
    """Return the unbroken run of blocks about the passing whose phase is clear, if long enough."""
    track = track_phase(blocks, p, near)
    good = 2.0 * np.pi * np.sqrt(track.noise) < USABLE_PHASE_RAD
    if not good.any():
        return None
    away_s = np.abs(track.times_s - p.heard_passing_s)
    middle = int(np.argmin(np.where(good, away_s, np.inf)))
    bad = np.flatnonzero(~good)
    first = int(bad[bad < middle].max(initial=-1)) + 1
    last = int(bad[bad > middle].min(initial=good.size))
    return blocks.between(first, last) if last - first >= LEAST_BLOCKS else None


def changes_tied(
    blocks: Blocks, clear: Blocks | None, start: PassBy, priors: Priors, near: bool
) -> Changes:
    """Return the changes of a source whose pitch is tied to the speed."""
    p, covariance = _fitted(blocks, clear, start, priors, near)
    speed = _speed_rate(p, covariance)
    # the acceleration is drift times speed, both uncertain: variance of a product of two
    # correlated normal variables (Bohrnstedt and Goldberger 1969, JASA 64, 1439; memory)
    u_v, mixed = _u(covariance[1, 1]), covariance[1, 4] / p.speed_mps
    mixed -= p.acceleration_mps2 * covariance[1, 1] / p.speed_mps**2
    u = math.sqrt(covariance[4, 4] + (speed.u * u_v) ** 2 + mixed**2)
    return Changes(speed, speed, p.acceleration_mps2, u)


def changes_fixed(
    blocks: Blocks,
    clear: Blocks | None,
    start: PassBy,
    priors: Priors,
    near: bool,
    job: Job,
) -> Changes:
    """Return the changes of a source of fixed pitch, its own drift and the motion's apart."""
    if clear is None:
        # without a clear phase the curve says nothing against which a drift would show
        p, covariance = _fitted(blocks, clear, start, priors, near)
        tied = start.with_(speed_tied=True, acceleration_mps2=0.0)
        drift = changes_tied(blocks, clear, tied, priors, near)
        speed = _speed_rate(p, covariance)
        return Changes(drift.pitch, speed, p.acceleration_mps2, _u(covariance[4, 4]))
    changes, likely = _apart(clear, start, priors, near, None)
    job.check()
    # what seems to drift may be the sound heard a second time, off the ground
    ground = find_reflection(clear, start, job)
    if ground is None:
        return changes
    along = ground.beside(clear)
    direct, likelier = _apart(ground.removed(clear), ground.passby, priors, near, along)
    # the broader answer leads where the data cannot decide
    least = -DECISIVE if direct.pitch.u > changes.pitch.u else REFLECTED
    return direct if likelier > likely + least else changes


def _apart(
    clear: Blocks, start: PassBy, priors: Priors, near: bool, beside: Beside | None
) -> tuple[Changes, float]:
    """Return the pitch's own drift and the motion's changes, and their log-likelihood."""
    p, rate = start, 0.0
    for _ in range(ROUNDS):
        # what drifts so far is counted to the reference
        fit = fit_phase(counted(clear, p, rate), p, FREE, priors, near=near, beside=beside)
        p = fit.passby
        data = _with_drift(linear_data(fit.track, p, FREE, priors, beside), p)
        unrest = estimate(data)
        answer = least_squares(data, unrest)
        step, last = answer.step[: len(FREE)], data.design.shape[1] - 2
        p = moved(p, step * min(1.0, 0.5 / max(float(np.max(np.abs(step))), 1e-30)), FREE)
        rate += float(answer.step[last])
        if abs(answer.step[last]) < 0.05 * _u(answer.covariance[last, last]):
            break
    kept = [*range(len(FREE)), last]
    scale = np.append(scale_of(p), 1.0)
    covariance = answer.covariance[np.ix_(kept, kept)] * np.outer(scale, scale)
    if near and not unrest.any:
        covariance = covariance * _excess(data, answer.step)
    changes = Changes(
        Rate(rate, _u(covariance[5, 5])),
        _speed_rate(p, covariance),
        p.acceleration_mps2,
        _u(covariance[4, 4]),
    )
    return changes, answer.loglik


def _fitted(
    blocks: Blocks, clear: Blocks | None, start: PassBy, priors: Priors, near: bool
) -> tuple[PassBy, FloatArray]:
    if clear is not None:
        fit = fit_phase(clear, start, FREE, priors, near=near)
        if not near or fit.unrest.any:
            return fit.passby, fit.covariance
        data = linear_data(fit.track, fit.passby, FREE, priors)
        return fit.passby, fit.covariance * _excess(data, least_squares(data, fit.unrest).step)
    other = fit_wandering(blocks.thinned(MOST_POINTS), start, FREE, priors)
    return other.passby, other.covariance


def _excess(data: LinearData, step: FloatArray) -> float:
    """Return how much more the phase of a source that keeps it scatters than its noise should.

    The noise is read beside the lines, and a gain at work or clipped peaks leave more on them.
    As of measurements whose scatter their uncertainties do not explain (Birge 1932, *Phys. Rev.*
    40, 207), never less than 1.
    """
    rest = data.cycles - data.design @ step
    return max(1.0, float(np.sum(rest**2 / data.noise)) / (rest.size - step.size))


def _speed_rate(p: PassBy, covariance: FloatArray) -> Rate:
    """Return acceleration over speed with its uncertainty."""
    v, a = p.speed_mps, p.acceleration_mps2
    by = np.array([-a / v**2, 1.0 / v])
    part = covariance[np.ix_((1, 4), (1, 4))]
    return Rate(a / v, _u(float(by @ part @ by)))


def _with_drift(data: LinearData, p: PassBy) -> LinearData:
    """Add a column for the drift before the constant."""
    at = data.design.shape[1] - 1
    column = drift_cycles(p, data.times_s, 1.0)
    return replace(
        data,
        design=np.insert(data.design, at, column, axis=1),
        prior_rows=np.insert(data.prior_rows, at, 0.0, axis=1),
    )


def _u(variance: float) -> float:
    return math.sqrt(max(0.0, float(variance)))
