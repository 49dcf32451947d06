"""One humming wheel or two, and a steady rider or one who wavers: how likely each is.

Each is a summit of its own likelihood, and is weighed by how high and how wide that is (Bayesian
model averaging; Hoeting et al. 1999, *Statist. Sci.* 14, 382). Where the rider wavers, the
likelihood of the passing time has several summits beside each other, and more than one is asked
for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from numpy.linalg import LinAlgError

from wayside.jobs import Job
from wayside.measure.doubt import BELIEFS, LOOSER, LOOSER_SHARE
from wayside.measure.fitted import DECISIVE
from wayside.measure.loudest import loudest_s
from wayside.measure.mixture import Mixture, Part, mixed
from wayside.measure.phasefit import ALL, Priors
from wayside.measure.riding import ride_of
from wayside.measure.twowheels import RATIO, Bicycle, Hum
from wayside.measure.wheelclimb import (
    Summit,
    apart,
    climb,
    excess_shown,
    scatter_of,
)

FloatArray = npt.NDArray[np.float64]

# summits that differ by more uncertainties are others; so many nats lower they do not count
OTHER, LOST_NATS = 1.0, 30.0
# wheels that differ by more do not wear the same tyre
MOST_RATIO = 3.0 * RATIO
SEED = 3
# a level that does not fall, within this; so many steps where little is left to climb
EVEN, FEW = 0.01, 8
# how a rider may waver, and how little sure of it one need not ask further (nats)
WAVERING = tuple(belief for belief in BELIEFS if belief.waver)
STEADY = sum(belief.share for belief in BELIEFS if not belief.waver)
UNLIKELY = -4.0
# the passing is looked for so many crossing times to either side of where it seems to be
ELSEWHERE = (-0.5, -0.25, 0.0, 0.25, 0.5)
LOST, MOST_SUMMITS = 10.0, 6
# a speed so far from a usual one (log) is not the only one to start from
UNUSUAL = 0.5


@dataclass(frozen=True)
class Both:
    """The fits of one wheel and of two to the same envelopes.

    Parameters
    ----------
    alone, hum : Hum
        That of one wheel, and of two.
    one, two : Mixture
        The summits of each.
    best : Summit
        The highest of two wheels.
    fading_told : float
        By how much its fading is likelier than a level that does not fall (nats).
    wavers : bool
        It is likelier that the rider's speed wavers than not.
    """

    alone: Hum
    hum: Hum
    one: Mixture
    two: Mixture
    best: Summit
    fading_told: float
    wavers: bool

    @property
    def gain(self) -> float:
        """By how much two wheels are likelier than one (nats)."""
        return self.two.height - self.one.height

    @property
    def height(self) -> float:
        """Log of the weights of all summits together (nats)."""
        return float(np.logaddexp(self.two.height, self.one.height))

    @property
    def waver(self) -> float:
        """How far the rider wavers: standard deviation of the speed, as a fraction of it."""
        return 0.0 if self.hum.ride is None else self.hum.ride.spread(self.best.bicycle.waver)


def weigh(
    alone: Hum, one: Summit, both: Hum, tops: Sequence[Summit], wheel: bool, job: Job
) -> Both:
    """Weigh the summits with as large a share of the log-likelihood as they bear.

    Parameters
    ----------
    alone, both : Hum
        That of one wheel, and of two.
    one : Summit
        Of one wheel.
    tops : sequence of Summit
        Of two.
    wheel : bool
        It is known to be a wheel. Of what may be none, a pitch that wavers speaks against it.
    job : Job
    """
    rng = np.random.default_rng(SEED)
    two = _first_look(both, tops, wheel, rng, job)
    lone = _first_look(alone, [one], wheel, rng, job)
    wavers = _likelier_wavering(two, lone)
    if wavers > DECISIVE:
        # no steady rider's scores say how much is known
        two, lone = two.wavering(rng, job), lone.wavering(rng, job)
    share = 1.0 / max(1.0, two.expected, two.shown, lone.shown)
    steady = STEADY if wheel else 1.0
    # one wheel's scores may scatter less than two's, but no less than expected
    scatter = two.scatter / (share * two.expected)
    of_one = lone.scatter * max(1.0, lone.shown / lone.expected)
    kept = others([climb(both, top.bicycle, job, share) for top in tops])
    parts = [_believed(top.part(scatter), steady - LOOSER_SHARE) for top in kept]
    braked = climb(replace(both, priors=_looser(both.priors)), kept[0].bicycle, job, share)
    parts.append(_believed(braked.part(scatter), LOOSER_SHARE / LOOSER))
    single = climb(alone, one.bicycle, job, share)
    singles = [_believed(single.part(of_one), steady)]
    best, hum = kept[0], both
    wavering: list[Part] = []
    if wavers > UNLIKELY:
        near = two.roaming
        if wavers > DECISIVE:
            near = _elsewhere(two, kept, share, job)
        for belief, rider, lone_rider in zip(WAVERING, two.riders, lone.riders, strict=True):
            found = _distinct([climb(rider, top.bicycle, job, share) for top in near])
            of_two = [_believed(top.part(), belief.share) for top in found]
            if found and of_two[0].height > max(part.height for part in parts):
                best, hum = found[0], rider
            top = climb(lone_rider, lone.roaming[0].bicycle, job, share)
            of_lone = _believed(top.part(), belief.share)
            parts, singles = [*parts, *of_two], [*singles, of_lone]
            wavering += [*of_two, of_lone]
    flat = replace(best.bicycle, fading=0.0, squash=0.0)
    unfading = climb(replace(hum, fading=(0.0, EVEN), squash=EVEN), flat, job, share, FEW)
    told = best.value - unfading.value
    likelier = _height(wavering) > _height([*parts, *singles]) - math.log(2.0)
    return Both(alone, hum, mixed(singles, ALL), mixed(parts, ALL), best, told, likelier)


def _height(parts: Sequence[Part]) -> float:
    return float(np.logaddexp.reduce([part.height for part in parts], initial=-math.inf))


@dataclass(frozen=True)
class _Look:
    """What the summits of so many wheels show at first.

    Parameters
    ----------
    top : Summit
        The highest of a steady rider.
    riders : tuple of Hum
        Of riders who waver, the most last; none where none is asked for.
    roaming : list of Summit
        That of the last of them.
    scatter : ndarray
        Of the scores, see `scatter_of`.
    expected, shown : float
        How many times as far as the likelihood has it they scatter, in hums like this, and here.
    """

    top: Summit
    riders: tuple[Hum, ...]
    roaming: list[Summit]
    scatter: FloatArray
    expected: float
    shown: float

    def wavering(self, rng: np.random.Generator, job: Job) -> _Look:
        """Return the same of the rider who wavers the most."""
        (top,) = self.roaming
        scatter, expected = scatter_of(self.riders[-1], top, rng, job)
        return replace(self, scatter=scatter, expected=expected, shown=excess_shown(top))


def _first_look(
    hum: Hum, tops: Sequence[Summit], wheel: bool, rng: np.random.Generator, job: Job
) -> _Look:
    top = max(tops, key=lambda top: top.value)
    look = _Look(top, (), [], *scatter_of(hum, top, rng, job), excess_shown(top))
    if not wheel:
        return look
    times = hum.blocks.times_s
    ride = ride_of(top.bicycle.passby, float(times[0]), float(times[-1]))
    riders = tuple(replace(hum, ride=ride, waver=belief.waver) for belief in WAVERING)
    return replace(look, riders=riders, roaming=[climb(riders[-1], top.bicycle, job)])


def _likelier_wavering(two: _Look, lone: _Look) -> float:
    """Return by how much it is likelier that the rider wavers than that he does not (nats)."""
    if not two.roaming:
        return -math.inf
    wavering = np.logaddexp(two.roaming[0].part().height, lone.roaming[0].part().height)
    steady = np.logaddexp(two.top.part().height, lone.top.part().height)
    return float(wavering - steady) / two.expected + math.log(WAVERING[-1].share)


def _elsewhere(look: _Look, tops: Sequence[Summit], share: float, job: Job) -> list[Summit]:
    """Return the summits of a rider who wavers the most, the highest first.

    They are climbed from other times, and from the other wheel's being the finer.
    """
    hum, (roaming,) = look.riders[-1], look.roaming
    near = [climb(hum, roaming.bicycle, job, share)]
    swapped = [top for top in tops if top.bicycle.ratio * roaming.bicycle.ratio < 0.0]
    near += [climb(hum, top.bicycle, job, share) for top in swapped[:1]]
    loudest = loudest_s(hum.blocks)
    starts = [start for top in near for start in _sounding_alike(hum, top, loudest)]
    found = _distinct([*near, *(climb(hum, start, job, share, FEW) for start in starts)])
    return [top for top in found if top.value > found[0].value - LOST][:MOST_SUMMITS]


def _sounding_alike(hum: Hum, top: Summit, loudest: float) -> list[Bicycle]:
    """Return starts that sound alike but pass at other times, or at a usual speed.

    The times are about that of the summit, and about when it is loudest.
    """
    p, usual = top.bicycle.passby, hum.priors.usual.speed_mps
    crossing = p.closest_m / p.speed_mps
    later = [by * crossing for by in ELSEWHERE if by]
    later += [loudest - p.heard_passing_s + by * crossing for by in ELSEWHERE[1:-1]]
    passes = [p.with_(passing_time_s=p.passing_time_s + by) for by in later]
    if abs(math.log(p.speed_mps / usual)) > UNUSUAL:
        passes.append(p.with_(speed_mps=usual, closest_m=crossing * usual))
    return [hum.sounding_alike(top.bicycle, q) for q in passes]


def _believed(part: Part, share: float) -> Part:
    return replace(part, height=part.height + math.log(share))


def others(tops: list[Summit]) -> list[Summit]:
    """Return the summits that differ and count, the highest first, of tyres of the same make.

    Raises
    ------
    LinAlgError
        If there is none.
    """
    kept = _distinct(tops)
    if not kept:
        raise LinAlgError
    return kept


def _distinct(tops: list[Summit]) -> list[Summit]:
    kept: list[Summit] = []
    for top in sorted(tops, key=lambda top: -top.value):
        if all(apart(top, other) > OTHER for other in kept):
            kept.append(top)
    kept = [top for top in kept if abs(top.bicycle.ratio) < MOST_RATIO]
    return [top for top in kept if top.value > kept[0].value - LOST_NATS]


def _looser(priors: Priors) -> Priors:
    assert priors.acceleration_mps2 is not None
    mean, sd = priors.acceleration_mps2
    return replace(priors, acceleration_mps2=(mean, LOOSER * sd))
