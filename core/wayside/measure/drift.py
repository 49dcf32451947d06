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
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.breadth import part_of, parts_of
from wayside.measure.demod import Blocks
from wayside.measure.doubt import LEAST_SHARE
from wayside.measure.fitted import Drift
from wayside.measure.ladder import (
    CONSTANT,
    RUNG_ENOUGH,
    Rung,
    Sums,
    ascend,
    edges_of,
    moved,
    sums_at,
)
from wayside.measure.mixture import Mixture, Part, mixed, weights_of
from wayside.measure.phasefit import Beside, PhaseFit, Priors, fit_phase, linear_data
from wayside.measure.polished import MOST_STEPS, Polished, whole_fit
from wayside.measure.rivals import rung_part
from wayside.measure.unrest import least_squares
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]

State = tuple[PassBy, float]
"""A pass-by, and how fast its tone drifts (1/s)."""

# how fast tones drift (1/s), some less and some more, and how many do to one that does not (common
# practice, no source)
SLOW_PER_S, FAST_PER_S, ODDS = 1e-4, 1e-3, 1.0
# no source that is to have a pitch drifts faster
MOST_PER_S = 5e-3
# a drift that explains so much more (nats) is hinted at, and told; noise alone gains so much once
# in twenty times, and once in ten thousand
HINT, TOLD = 2.0, 8.0
# turns of working out what it does along the fit
TURNS = 2


def drift_cycles(p: PassBy, times_s: FloatArray, per_s: float) -> FloatArray:
    """Return the cycles that a pitch ``f0 (1 + g (tau - tau0))`` adds by each time, shape (n,)."""
    since = p.emission_time(times_s) - p.passing_time_s
    return 0.5 * p.source_hz * per_s * since**2


def counted(blocks: Blocks, p: PassBy, per_s: float) -> Blocks:
    """Return envelopes with a drift counted to what they were brought to rest by."""
    known = drift_cycles(p, blocks.times_s, per_s)
    return replace(blocks, reference_cycles=blocks.reference_cycles - known)


def _beside(blocks: Blocks, p: PassBy, beside: Beside | None) -> Beside:
    """Return what a drift does to the phase, after what else turns it."""
    column = drift_cycles(p, blocks.times_s, FAST_PER_S)[:, None]
    if beside is not None:
        return beside.and_also(column, np.ones(1))
    return Beside(column, np.ones(1), p, np.zeros((column.size, 5)))


@dataclass(frozen=True)
class Averaged:
    """A fit of a tone averaged over whether it drifts.

    Parameters
    ----------
    mixture : Mixture
    fit : PhaseFit
        The likelier of the two.
    blocks : Blocks
        Those it was made on, a drift counted to the reference.
    beside : Beside or None
        What turns the phase in it.
    drift : Drift or None
        That of the tone, if it is likelier to drift than not.
    """

    mixture: Mixture
    fit: PhaseFit
    blocks: Blocks
    beside: Beside | None
    drift: Drift | None


def averaged_with_drift(
    blocks: Blocks,
    fit: PhaseFit,
    priors: Priors,
    beside: Beside | None,
    start: State | None,
    job: Job,
) -> Averaged:
    """Return the average of a fit of a steady tone and one that drifts.

    Parameters
    ----------
    blocks : Blocks
    fit : PhaseFit
        Of a steady one, of these blocks.
    priors : Priors
    beside : Beside or None
        What else turns the phase.
    start : tuple or None
        Where to start from with the drift, if not from the steady fit.
    job : Job
    """
    state, begin = start or (fit.passby, 0.0), None
    for _ in range(TURNS):
        # what a drift does goes by when the sound was sent, which the steady fit has wrong
        p, known = state
        turned = counted(blocks, p, known)
        open_ = _beside(turned, p, beside)
        other = fit_phase(turned, p, fit.free, priors, job=job, begin=begin, beside=open_)
        more = _drift_of(other, priors, open_)
        state, begin = (other.passby, known + more.per_s), other.unrest
    drift = Drift(state[1], more.u)
    share, belief = 0.0, ODDS
    if abs(drift.per_s) < MOST_PER_S and abs(more.per_s) < MOST_PER_S:
        belief *= math.exp(_usual(drift, more.per_s))
        share = float(weights_of([part_of(fit), part_of(other, belief)])[1])
    parts: list[Part] = []
    if share < 1.0 - LEAST_SHARE:
        parts += parts_of(blocks, fit, priors, 1.0, beside, job)
    if share > LEAST_SHARE:
        parts += parts_of(turned, other, priors, belief, open_, job)
    average = mixed(parts, fit.free)
    if share > 0.5:
        return Averaged(average, other, turned, open_, drift)
    return Averaged(average, fit, blocks, beside, None)


def _drift_of(fit: PhaseFit, priors: Priors, beside: Beside) -> Drift:
    """Return the drift that a fit has, the last of what else turns its phase."""
    data = linear_data(fit.track, fit.passby, fit.free, priors, beside)
    found = least_squares(data, fit.unrest)
    # the constant comes last
    u = float(np.sqrt(found.covariance[-2, -2]))
    return Drift(FAST_PER_S * float(found.step[-2]), FAST_PER_S * u)


def _usual(drift: Drift, held: float) -> float:
    """Return how much likelier a drift is than a fast one that is `held` from where it is known.

    In nats.
    """

    def density(per_s: float, spread: float) -> float:
        wide = math.hypot(spread, drift.u)
        return -0.5 * (per_s / wide) ** 2 - math.log(wide)

    slow, fast = (density(drift.per_s, spread) for spread in (SLOW_PER_S, FAST_PER_S))
    return float(np.logaddexp(slow, fast)) - math.log(2.0) - density(held, FAST_PER_S)


@dataclass(frozen=True)
class Drifting:
    """A tone that keeps its phase but for a drift.

    Parameters
    ----------
    part : Part
        The fit with the drift open, its height beside that of a steady tone.
    drift : Drift
    polished : Polished or None
        The fit with the drift counted to the reference, where it is told. Otherwise the tone may
        drift, and a steady one is known the worse for that.
    """

    part: Part
    drift: Drift
    polished: Polished | None = None


def may_drift(polished: Polished, job: Job) -> Drifting | None:
    """Return the fit of a tone that drifts; None where a steady one does about as well."""
    steady = polished.rung
    if polished.waveform is not None:
        steady = whole_fit(polished.blocks, steady.passby, polished.level)
    found = drifting_tone(polished, steady.passby, job)
    p = found.part.passby
    blocks = counted(polished.blocks, p, found.drift.per_s)
    rung = whole_fit(blocks, p, polished.level)
    gained = rung.gain - steady.gain
    if gained < HINT or abs(found.drift.per_s) > MOST_PER_S:
        return None
    if gained < TOLD or weights_of([rung_part(steady), found.part])[1] < 0.5:
        return found
    return replace(found, polished=replace(polished, rung=rung, blocks=blocks, waveform=None))


def drifting_tone(polished: Polished, start: PassBy, job: Job) -> Drifting:
    """Return the fit near `start`, where a steady tone's may be, of a tone that drifts.

    A fast drift has led that a few cycles away: so it is climbed to from short windows as well.
    """
    count = polished.blocks.times_s.size
    crossing = start.closest_m / start.speed_mps
    first = max(2, round(0.5 * crossing / polished.blocks.block_s))
    climbs = [(first * 2**n for n in range(12) if first * 2**n < 2 * count), ()]
    tops = []
    for widths in climbs:
        state = start, 0.0
        for width in widths:
            state, _ = _ascended(polished, state, edges_of(polished.blocks, state[0], width), job)
        tops.append(_ascended(polished, state, np.zeros(1, dtype=np.intp), job))
    (p, per_s), sums = max(tops, key=lambda top: top[1].gain)
    whole = rung_part(Rung(p, sums.gain, sums.normal, 0))
    drift = Drift(per_s, FAST_PER_S * math.sqrt(whole.covariance[-1, -1]))
    height = whole.height + math.log(ODDS) + _usual(drift, per_s)
    return Drifting(Part(p, whole.covariance[:-1, :-1], height), drift)


def _ascended(
    polished: Polished, start: State, edges: npt.NDArray[np.intp], job: Job
) -> tuple[State, Sums]:
    """Return the maximum near `start` with windows that begin at `edges`."""

    def at(state: State) -> Sums:
        job.check()
        return _sums(polished, *state, edges)

    def onward(state: State, step: FloatArray) -> State:
        return moved(state[0], step[:-1], CONSTANT), state[1] + FAST_PER_S * float(step[-1])

    return ascend(start, at, onward, MOST_STEPS, RUNG_ENOUGH if edges.size > 1 else None)


def _sums(polished: Polished, p: PassBy, per_s: float, edges: npt.NDArray[np.intp]) -> Sums:
    """Return the likelihood of a tone that drifts, the drift, in units of a fast one, last."""
    blocks = polished.blocks
    column = drift_cycles(p, blocks.times_s, FAST_PER_S)[None, :]
    turned = counted(blocks, p, per_s)
    sums = sums_at(turned, p, edges, CONSTANT, polished.level, column)
    # what is known beforehand
    by = per_s / FAST_PER_S
    sums.gradient[-1] -= 0.5 * by
    sums.normal[-1, -1] += 0.5
    return replace(sums, gain=sums.gain - 0.5 * by * by)
