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
from wayside.measure.breadth import FAINT
from wayside.measure.doubt import KEPT_S, LOOSER, LOOSER_SHARE, Belief, beliefs_of
from wayside.measure.fitted import DECISIVE
from wayside.measure.loudest import loudest_s
from wayside.measure.mixture import Mixture, Part, mixed
from wayside.measure.phasefit import ALL, Priors
from wayside.measure.riding import ride_of
from wayside.measure.twowheels import COHERENCE, COHERENCE_S, RATIO, Bicycle, Hum
from wayside.measure.wheelclimb import (
    Summit,
    apart,
    climb,
    climb_each,
    climb_pairs,
    excess_shown,
    of_true_coherence,
    scatter_of,
)
from wayside.measure.wheelridge import along_speed

FloatArray = npt.NDArray[np.float64]

# summits that differ by more uncertainties are others; so many nats lower they do not count
OTHER, LOST_NATS = 1.0, 30.0
# wheels that differ by more do not wear the same tyre
MOST_RATIO = 3.0 * RATIO
SEED = 3
# a level that does not fall, within this; so many steps where little is left to climb
EVEN, FEW = 0.01, 8
# so little sure of a rider's wavering one need not ask further (nats)
UNLIKELY = -4.0
# all summits are asked for of riders who are about as likely as the likeliest (nats)
ALIKE = 2.0
REOPENED = (math.log(COHERENCE_S), COHERENCE)
# the passing is looked for so many crossing times to either side of where it seems to be
ELSEWHERE = (-0.5, -0.25, 0.0, 0.25, 0.5)
LOST, MOST_SUMMITS = 10.0, 8
# so many times as fast, and with so many times the crossing time, others may sound nearly alike
BESIDE = (0.8, 0.9, 0.95, 1.05, 1.1, 1.25)
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
    coherence_s = math.exp(max(tops, key=lambda top: top.value).bicycle.coherence)
    beliefs = beliefs_of(coherence_s)
    two = _first_look(both, tops, beliefs, wheel, rng, job)
    lone = _first_look(alone, [one], beliefs, wheel, rng, job)
    ridden, likeliest = [0.0], 0
    if wheel:
        likeliest, roaming = two.likeliest, two
        shares = (1.0 / max(1.0, two.expected), 1.0)
        if max(_wavers(_how_ridden(two, lone, share)) for share in shares) > UNLIKELY:
            roaming = two.ridden(likeliest, rng, job)
        # what a lost phase makes less of may all be told by a phase that is kept, and a waver
        least = max(1.0, min(two.expected, roaming.expected))
        # and a waver of what is kept for seconds is told by other blocks than those
        ridden = _how_ridden(two, lone, 1.0 / (math.sqrt(least) if coherence_s > KEPT_S else least))
    wavers = _wavers(ridden)
    if wavers > DECISIVE:
        # no steady rider's scores say how much is known
        two, lone = roaming, lone.ridden(likeliest, rng, job)
    share = 1.0 / max(1.0, two.expected, two.shown, lone.shown)
    steady = _steady(two, lone, tops, share, job)
    near: list[Bicycle] = []
    if wavers > DECISIVE:
        near = [one.bicycle for one in _elsewhere(two.roaming[likeliest], steady.tops, share, job)]
    believed = [(ridden[0], steady)]
    for number in range(len(two.roaming)):
        by = ridden[number + 1]
        if by < max(ridden) + UNLIKELY:
            continue
        starts = near if by > max(ridden) - ALIKE else near[:1]
        surely = wavers > DECISIVE
        rider = _wavering(two.roaming[number], lone.roaming[number], starts, surely, share, job)
        # heights say how likely each summit is of this rider, not how likely he is
        believed.append((by, rider.raised(steady.height + by - ridden[0] - rider.height)))
    _, best = max((one for one in believed if one[1].tops), key=lambda one: one[0])
    flat = replace(best.tops[0].bicycle, fading=0.0, squash=0.0)
    even = replace(best.hum, fading=(0.0, EVEN), squash=EVEN)
    told = best.tops[0].value - climb(even, flat, job, share, FEW).value
    singles = mixed([part for _, rider in believed for part in rider.singles], ALL)
    parts = mixed([part for _, rider in believed for part in rider.parts], ALL)
    return Both(alone, best.hum, singles, parts, best.tops[0], told, wavers > 0.0)


@dataclass(frozen=True)
class _Weighed:
    """The summits of one way of riding.

    Parameters
    ----------
    hum : Hum
        Of two wheels.
    tops : list of Summit
        Of these, the highest first.
    parts, singles : list of Part
        Of two wheels, and of one.
    """

    hum: Hum
    tops: list[Summit]
    parts: list[Part]
    singles: list[Part]

    @property
    def height(self) -> float:
        """Log of the weights of all of them together (nats)."""
        return _log_sum([part.height for part in (*self.parts, *self.singles)])

    def raised(self, by: float) -> _Weighed:
        """Return the same, likelier by so many nats."""
        parts, singles = (
            [replace(part, height=part.height + by) for part in each]
            for each in (self.parts, self.singles)
        )
        return replace(self, parts=parts, singles=singles)


def _steady(two: _Look, lone: _Look, tops: Sequence[Summit], share: float, job: Job) -> _Weighed:
    """Return the summits of a steady rider, who coasts or brakes."""
    # one wheel's scores may scatter less than two's, but no less than expected
    scatter = two.scatter / (share * two.expected)
    of_one = lone.scatter * max(1.0, lone.shown / lone.expected)
    kept = others(climb_each(two.hum, [top.bicycle for top in tops], job, share))
    kept = others([*kept, *_beside(two.hum, kept[0], share, job)])
    parts = [_believed(top.part(scatter), 1.0 - LOOSER_SHARE / two.steady) for top in kept]
    looser = replace(two.hum, priors=_looser(two.hum.priors))
    braked = climb(looser, kept[0].bicycle, job, share).part(scatter)
    parts.append(_believed(braked, LOOSER_SHARE / two.steady / LOOSER))
    single = climb(lone.hum, lone.top.bicycle, job, share).part(of_one)
    return _Weighed(two.hum, kept, parts, [single])


def _wavering(
    two: tuple[Hum, Summit],
    lone: tuple[Hum, Summit],
    near: Sequence[Bicycle],
    surely: bool,
    share: float,
    job: Job,
) -> _Weighed:
    """Return the summits of a rider who wavers, from where two wheels were seen and `near`.

    Of one who surely does the whole ridge is told.
    """
    (hum, top), (lone_hum, lone_top) = two, lone
    found = _distinct(climb_each(hum, [top.bicycle, *near], job, share))
    single = climb(lone_hum, lone_top.bicycle, job, share)
    parts, singles = [one.part() for one in found], [single.part()]
    if surely and found:
        parts = along_speed(hum, found, share, job)
    if surely and singles[0].height > _log_sum([part.height for part in parts]) - FAINT:
        singles = along_speed(lone_hum, [single], share, job)
    return _Weighed(hum, found, parts, singles)


def _log_sum(heights: Sequence[float]) -> float:
    return float(np.logaddexp.reduce(np.asarray(heights), initial=-math.inf))


@dataclass(frozen=True)
class _Look:
    """What the summits of so many wheels show at first.

    Parameters
    ----------
    hum : Hum
    top : Summit
        The highest of a steady rider.
    beliefs : tuple of Belief
        How it may be ridden.
    roaming : tuple of (Hum, Summit)
        Of riders who waver, as they are believed; none where none is asked for.
    scatter : ndarray
        Of the scores, see `scatter_of`.
    expected, shown : float
        How many times as far as the likelihood has it they scatter, in hums like this, and here.
    """

    hum: Hum
    top: Summit
    beliefs: tuple[Belief, ...]
    roaming: tuple[tuple[Hum, Summit], ...]
    scatter: FloatArray
    expected: float
    shown: float

    @property
    def all(self) -> tuple[tuple[Hum, Summit], ...]:
        """The steady rider and those who waver."""
        return ((self.hum, self.top), *self.roaming)

    @property
    def steady(self) -> float:
        """How far a steady rider is believed before the sound is heard."""
        return sum(belief.share for belief in self.beliefs if not belief.waver)

    @property
    def wavering(self) -> tuple[Belief, ...]:
        """How riders may waver."""
        return tuple(belief for belief in self.beliefs if belief.waver)

    @property
    def likeliest(self) -> int:
        """Which of the riders who waver is the likeliest."""
        return int(np.argmax([top.part().height for _, top in self.roaming]))

    def ridden(self, number: int, rng: np.random.Generator, job: Job) -> _Look:
        """Return the same of one of the riders who waver."""
        rider, top = self.roaming[number]
        scatter, expected = scatter_of(rider, top, rng, job)
        return replace(self, scatter=scatter, expected=expected, shown=excess_shown(top))


def _first_look(
    hum: Hum,
    tops: Sequence[Summit],
    beliefs: tuple[Belief, ...],
    wheel: bool,
    rng: np.random.Generator,
    job: Job,
) -> _Look:
    top = max(tops, key=lambda top: top.value)
    look = _Look(hum, top, beliefs, (), *scatter_of(hum, top, rng, job), excess_shown(top))
    if not wheel:
        return look
    times = hum.blocks.times_s
    p, first_s, last_s = top.bicycle.passby, float(times[0]), float(times[-1])
    # what seemed a lost phase may have been the waver
    riders = [
        replace(
            hum,
            ride=ride_of(p, first_s, last_s, belief.lasts_s),
            waver=belief.waver,
            coherence=REOPENED,
        )
        for belief in look.wavering
    ]
    roamed = climb_pairs([(rider, top.bicycle) for rider in riders], job)
    held = [of_true_coherence(*rider) for rider in zip(riders, roamed, strict=True)]
    found = climb_pairs(held, job)
    roaming = tuple((rider, top) for (rider, _), top in zip(held, found, strict=True))
    return replace(look, roaming=roaming)


def _how_ridden(two: _Look, lone: _Look, share: float) -> list[float]:
    """Return how likely a steady rider is, and each who wavers (nats)."""
    shares = [two.steady, *(belief.share for belief in two.wavering)]
    return [
        float(np.logaddexp(one.height_of(hum, share), other.height_of(lone_hum, share)))
        + math.log(believed)
        for (hum, one), (lone_hum, other), believed in zip(two.all, lone.all, shares, strict=True)
    ]


def _wavers(ridden: Sequence[float]) -> float:
    """Return by how much it is likelier that the rider wavers than that he does not (nats)."""
    return _log_sum(ridden[1:]) - ridden[0]


def keeps_its_phase(bicycle: Bicycle) -> bool:
    """Whether its wheels keep their phase for as long as it takes to cross."""
    p = bicycle.passby
    return math.exp(bicycle.coherence) > p.closest_m / p.speed_mps


def nearly_alike(hum: Hum, bicycle: Bicycle, ways: Sequence[tuple[float, float]]) -> list[Bicycle]:
    """Return bicycles that sound nearly like one, slower or faster, near or far.

    Parameters
    ----------
    hum : Hum
        Of a steady rider.
    bicycle : Bicycle
    ways : sequence of tuple of float
        So many times as fast, and with so many times the crossing time.
    """
    p = bicycle.passby
    other = [
        p.with_(speed_mps=by * p.speed_mps, closest_m=by * longer * p.closest_m)
        for by, longer in ways
    ]
    return [hum.drawn_to(bicycle, q) for q in other]


def _beside(hum: Hum, top: Summit, share: float, job: Job) -> list[Summit]:
    """Return summits beside one whose wheels keep their phase, which sound nearly like it."""
    if not keeps_its_phase(top.bicycle):
        return []
    beside = nearly_alike(hum, top.bicycle, [(by, by) for by in BESIDE])
    return climb_each(hum, beside, job, share, FEW)


def _elsewhere(
    roaming: tuple[Hum, Summit], tops: Sequence[Summit], share: float, job: Job
) -> list[Summit]:
    """Return the summits of a rider who wavers, the highest first.

    They are climbed from other times, and from the other wheel's being the finer.
    """
    hum, top = roaming
    swapped = [one for one in tops if one.bicycle.ratio * top.bicycle.ratio < 0.0]
    near = climb_each(hum, [one.bicycle for one in (top, *swapped[:1])], job, share)
    loudest = loudest_s(hum.blocks)
    starts = [start for one in near for start in _sounding_alike(hum, one, loudest)]
    found = _distinct([*near, *climb_each(hum, starts, job, share, FEW)])
    # none may be left whose tyres are of the same make
    return [one for one in found if one.value > found[0].value - LOST][:MOST_SUMMITS]


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
