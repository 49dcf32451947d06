"""The summit of the likelihood of a humming bicycle, and how far it may lie off.

Climbed by Fisher scoring. The likelihood takes the hum for a sum of normal processes, each
harmonic's its own; a tread's hum keeps its strength, and its harmonics wander together. The
likelihood then still has its summit in the right place, but knows less than it says. How much
less is worked out on hums simulated from what was fitted, and shown by what the blocks' scores
scatter (quasi-likelihood; White 1982, *Econometrica* 50, 1). Only so large a share of the
log-likelihood counts, against what is known beforehand and between summits (power posterior;
Miller and Dunson 2019, *J. Am. Stat. Assoc.* 114, 1113).
"""

from __future__ import annotations

import math
from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

from wayside.jobs import Job
from wayside.measure.demod import Blocks, low_pass
from wayside.measure.foretold import foretold
from wayside.measure.incoherent import related
from wayside.measure.ladder import TWO_PI
from wayside.measure.mixture import Part
from wayside.measure.twowheels import AT_RATIO, AT_WAVER, SHARED, Bicycle, Hum
from wayside.measure.wheelslopes import Slopes, differing, slopes_each
from wayside.measure.wheelways import ways_near

FloatArray = npt.NDArray[np.float64]

# the coherence time is known to this once it is found (log)
COHERENCE_KNOWN = 0.05
STEPS, ENOUGH, MOST_STEP, STIFFEST = 100, 0.02, 0.5, 1e5
# motion, and how the wheels differ: what the excess is judged by
TOLD = AT_RATIO + 1
SIMULATED, AT_ONCE = 120, 10
# blocks in a lag window, as a share of all
LAGS = 40
PARTS = 12


@dataclass(frozen=True)
class Summit:
    """The summit of the likelihood.

    Parameters
    ----------
    bicycle : Bicycle
    value : float
        Log-likelihood, as large a share as counts, and prior knowledge (nats).
    scores : ndarray, shape (n_blocks, n_open)
        Slopes of the log-likelihood by block.
    information : ndarray, shape (n_open, n_open)
        Of the whole log-likelihood.
    known : ndarray, shape (n_open, n_open)
        Information of the prior knowledge.
    share : float
        Of the log-likelihood that counts.
    """

    bicycle: Bicycle
    value: float
    scores: FloatArray
    information: FloatArray
    known: FloatArray
    share: float

    def part(self, scatter: FloatArray | None = None) -> Part:
        """Return it as a part of a mixture, as wide as `scatter` makes its scores.

        Parameters
        ----------
        scatter : ndarray, shape (n_shared, n_shared), optional
            See `scatter_of`.
        """
        share = self.share
        normal = share * self.information + self.known
        inverse = np.linalg.inv(normal)
        height = self.value + 0.5 * float(np.linalg.slogdet(inverse)[1])
        if scatter is not None:
            shared = (slice(None, scatter.shape[0]),) * 2
            inverse = np.linalg.inv(normal[shared])
            inverse = inverse @ (share**2 * scatter + self.known[shared]) @ inverse
        motion = (slice(None, AT_RATIO),) * 2
        return Part(self.bicycle.passby, np.asarray(inverse[motion]), height)

    def height_of(self, hum: Hum, share: float) -> float:
        """Return how likely all about it is (nats), if such a share counted.

        Parameters
        ----------
        hum : Hum
            What it is a summit of.
        share : float
            Of the log-likelihood.
        """
        believed = hum.known(self.bicycle)[2]
        normal = share * self.information + self.known
        told = share / self.share * (self.value - believed)
        return told + believed - 0.5 * float(np.linalg.slogdet(normal)[1])


def climb(hum: Hum, start: Bicycle, job: Job, share: float = 1.0, steps: int = STEPS) -> Summit:
    """Climb to the summit near `start`.

    Parameters
    ----------
    hum : Hum
    start : Bicycle
    job : Job
    share : float
        Of the log-likelihood that counts.
    steps : int
        At most so many.

    Returns
    -------
    Summit
    """
    return climb_each(hum, [start], job, share, steps)[0]


def climb_each(
    hum: Hum, starts: Sequence[Bicycle], job: Job, share: float = 1.0, steps: int = STEPS
) -> list[Summit]:
    """Climb to the summit near each of several starts, see `climb`, side by side.

    Each climbs for itself; the slopes of all are worked out at once, which takes hardly longer
    than those of one.
    """
    return climb_pairs([(hum, start) for start in starts], job, share, steps)


def climb_pairs(
    pairs: Sequence[tuple[Hum, Bicycle]], job: Job, share: float = 1.0, steps: int = STEPS
) -> list[Summit]:
    """Climb to summits side by side, see `climb_each`, each as its own is believed beforehand.

    Parameters
    ----------
    pairs : sequence of (Hum, Bicycle)
        The same envelopes and as many wheels, and where to start.
    job, share, steps
        See `climb`.
    """
    climbers = [_climbing(hum, start, share, steps) for hum, start in pairs]
    asked = {number: next(climber) for number, climber in enumerate(climbers)}
    summits: dict[int, Summit] = {}
    while asked:
        job.check()
        found = slopes_each([(pairs[number][0], asked[number]) for number in asked])
        for (number, _), slopes in zip(list(asked.items()), found, strict=True):
            try:
                asked[number] = climbers[number].send(slopes)
            except StopIteration as ended:
                summits[number] = ended.value
                del asked[number]
    return [summits[number] for number in range(len(climbers))]


def _climbing(
    hum: Hum, start: Bicycle, share: float, steps: int
) -> Generator[Bicycle, Slopes, Summit]:
    """Climb to the summit near `start`, asking for the slopes of each bicycle on the way."""
    places = hum.open
    whole = np.zeros(SHARED + 3 * start.power.size)

    def value_of(bicycle: Bicycle) -> float:
        return share * hum.log_likelihood(bicycle) + hum.known(bicycle)[2]

    def seen(bicycle: Bicycle, slopes: Slopes) -> tuple[Summit, FloatArray]:
        loglik, scores, information = slopes
        known, pull, density = hum.known(bicycle)
        value = share * loglik + density
        summit = Summit(bicycle, value, scores, information, known[np.ix_(places, places)], share)
        return summit, share * scores.sum(axis=0) + pull[places]

    at, slope = seen(start, (yield start))
    damping = 1e-3
    for _ in range(steps):
        normal = share * at.information + at.known
        rise = 0.0
        while damping < STIFFEST:
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), slope)
            step *= min(1.0, MOST_STEP / max(float(np.max(np.abs(step))), 1e-30))
            whole[places] = step
            trial = at.bicycle.moved(whole)
            rise = value_of(trial) - at.value
            if rise > 0:
                break
            damping *= 6.0
        if rise <= 0:
            break
        # along a ridge a step is too short
        while True:
            step = 2.0 * step
            if float(np.max(np.abs(step))) > MOST_STEP:
                break
            whole[places] = step
            further = at.bicycle.moved(whole)
            gain = value_of(further) - at.value
            if gain <= rise:
                break
            trial, rise = further, gain
        damping = max(1e-6, 0.2 * damping)
        at, slope = seen(trial, (yield trial))
        if rise < ENOUGH:
            break
    return at


def excess_shown(summit: Summit) -> float:
    """Return how many times the scores scatter as the likelihood expects, as far as one hum shows.

    Blocks near each other may be related (Newey and West 1987, *Econometrica* 55, 703).
    """
    told: int = min(TOLD, summit.information.shape[0])
    scores = summit.scores[:, :told]
    found = related(scores, max(1, scores.shape[0] // LAGS))
    ratio: FloatArray = np.asarray(np.linalg.solve(summit.information[:told, :told], found))
    return float(np.trace(ratio)) / told


def scatter_of(
    hum: Hum, summit: Summit, rng: np.random.Generator, job: Job
) -> tuple[FloatArray, float]:
    """Return how the scores of hums like this scatter, and how many times as expected.

    Simulated are hums of constant strength whose harmonics wander together.

    Returns
    -------
    scatter : ndarray, shape (n_shared, n_shared)
        Covariance of the summed scores of all that is open but the waver and the harmonics' own.
    excess : float
    """
    blocks, bicycle = hum.blocks, summit.bicycle
    k = blocks.harmonics
    shape = (blocks.times_s.size, SIMULATED, k.size)
    turn = math.sqrt(2.0 * blocks.block_s / math.exp(bicycle.coherence))
    z = np.zeros(shape, np.complex128)
    for way in hum.ways(bicycle):
        wander = np.cumsum(rng.normal(0.0, turn, shape[:2]), axis=0)
        phase = k * wander[:, :, None] + rng.uniform(0.0, TWO_PI, shape[1:])
        z += way[:, None, :] * np.exp(1j * phase)
    noise = hum.noise(bicycle)
    z += np.sqrt(0.5 * noise) * (rng.normal(size=shape) + 1j * rng.normal(size=shape))
    size = SHARED + 3 * k.size
    places = hum.open[hum.open < AT_WAVER.start]
    near, by = differing(bicycle, size, places)
    ways = ways_near(hum, near, [None] * len(near))
    kept = np.stack([hum.kept(b) for b in near])
    loglik = np.empty((len(near), SIMULATED))
    for first in range(0, SIMULATED, AT_ONCE):
        job.check()
        some = slice(first, first + AT_ONCE)
        one, other = (np.repeat(way, AT_ONCE, axis=1) for way in ways)
        heard = np.tile(z[:, some], (1, len(near), 1))
        all_of = foretold(heard, one, other, np.repeat(kept, AT_ONCE, axis=0), noise[None, :])
        loglik[:, some] = all_of.terms().sum(axis=1).reshape(len(near), AT_ONCE)
    scores = (loglik[1:] - loglik[0]) / by[:, None]
    # differences are off by their step, the same for all
    scatter = np.atleast_2d(np.cov(scores))
    many = int(np.sum(places < TOLD))
    told = (slice(None, many),) * 2
    excess = np.trace(np.linalg.solve(summit.information[told], scatter[told])) / many
    return np.asarray(scatter), float(excess)


def with_true_coherence(hum: Hum, tops: list[Summit], job: Job) -> tuple[Hum, list[Summit]]:
    """Return the hum with the coherence time that the highest summit means, and the summits."""
    best = max(tops, key=lambda top: top.value)
    held, start = of_true_coherence(hum, best)
    starts = [replace(top.bicycle, coherence=start.coherence) for top in tops]
    return held, climb_each(held, starts, job)


def of_true_coherence(hum: Hum, top: Summit) -> tuple[Hum, Bicycle]:
    """Return the hum with the coherence time that a summit means, and where to climb from."""
    true = unblurred(hum.blocks, top.bicycle.coherence)
    return replace(hum, coherence=(true, COHERENCE_KNOWN)), replace(top.bicycle, coherence=true)


def unblurred(blocks: Blocks, coherence: float) -> float:
    """Return the log of the coherence time of a source that seems to have another.

    Envelopes are low-passed; what is left of one block in the next is then more than the source
    keeps, and a likelihood that knows nothing of that finds too long a time.

    Parameters
    ----------
    blocks : Blocks
    coherence : float
        Log of the time that was found (s).
    """
    found = []
    for k in blocks.numbers[:2]:
        seems = math.exp(-k * k * blocks.block_s / math.exp(coherence))
        if _kept_after(20.0) < seems < _kept_after(1e-5):
            true = brentq(lambda x, seems=seems: _kept_after(x) - seems, 1e-5, 20.0)
            found.append(math.log(k * k * blocks.block_s / true))
    return float(np.mean(found)) if found else coherence


def _kept_after(lost: float) -> float:
    """Return the correlation of neighbouring blocks of a source that keeps exp(-lost) a block."""
    together, lag = _overlap()
    alone = float(np.sum(together * np.exp(-lost * np.abs(lag))))
    return float(np.sum(together * np.exp(-lost * np.abs(lag + 1.0)))) / alone


@cache
def _overlap() -> tuple[FloatArray, FloatArray]:
    """Return the low-pass of a block against itself, and at what lags (blocks)."""
    taps = low_pass(PARTS)
    return np.correlate(taps, taps, "full"), np.arange(1 - taps.size, taps.size) / PARTS


def apart(one: Summit, other: Summit) -> float:
    """Return how many uncertainties of the first two summits lie apart."""
    step = one.bicycle.steps_to(other.bicycle)[:TOLD]
    normal = (one.information + one.known)[:TOLD, :TOLD]
    return float(np.sqrt(step @ normal @ step))
