"""Which harmonics a refined pass-by really has, judged on their envelopes.

Once the curve is known to a fraction of a cycle, a harmonic shows as a strong envelope and
an empty multiple as noise. Sub-multiples of the found line are tried too, so that a missing
fundamental or a false octave is recognised. A line must stand out from the gaps on either side
of it, or the skirt of a broad line would pass for lines of its own; and it must sound when the
others do, or a few words of a talking class would pass for lines below a hum.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.measure.comb import gaps_beside, lines_and_gaps
from wayside.measure.demod import Blocks, demodulate
from wayside.measure.ladder import courses_of, edges_of, gains_of
from wayside.measure.phases import weighted_quantile
from wayside.physics.passby import PassBy

F32 = npt.NDArray[np.float32]

MOST_HARMONICS = 12
DIVISORS = (1, 2, 3, 4, 5, 6)
SIGNIFICANT = 14.0
# noise alone gains this much in one window once in a thousand times
MAYBE = 7.0
# and so much of it tells no more than that another line was looked for in vain
ABSENT_COST = 1.0
LEAKAGE = 1e-3
STAND_OUT = 4.0
PENALTY_SHARE = 0.03
LOWEST_HZ = 20.0
LEAST_BLOCKS = 12
# a line of another source shares less than this of its course with the series and comes in bursts,
# whose median is less than this share of their mean; of fewer windows nobody can tell
UNLIKE, IN_BURSTS, ENOUGH_WINDOWS = 0.4, 0.3, 8


def line_strengths(
    x: F32, rate_hz: float, start_s: float, p: PassBy, numbers: tuple[int, ...], width_s: float
) -> dict[int, float]:
    """Return each harmonic's gain over noise (nats) with windows of `width_s` seconds."""
    if not numbers:
        return {}
    blocks, edges = _in_windows(x, rate_hz, start_s, p, numbers, width_s)
    gains = gains_of(blocks, p, edges) - edges.size
    return dict(zip(numbers, (float(g) for g in gains), strict=True))


def _in_windows(
    x: F32, rate_hz: float, start_s: float, p: PassBy, numbers: tuple[int, ...], width_s: float
) -> tuple[Blocks, npt.NDArray[np.intp]]:
    """Return the envelopes of some harmonics, and where windows of `width_s` seconds start."""
    block = min(width_s / 4.0, max(p.closest_m / p.speed_mps / 4.0, 4.0 / p.source_hz))
    block = min(block, x.size / rate_hz / LEAST_BLOCKS)
    blocks = demodulate(x, rate_hz, start_s, p, numbers, block)
    return blocks, edges_of(blocks, p, max(2, round(width_s / blocks.block_s)))


def harmonic_series(
    x: F32,
    rate_hz: float,
    start_s: float,
    p: PassBy,
    width_s: float,
    most: int = MOST_HARMONICS,
    job: Job = QUIET,
) -> tuple[Fraction, tuple[int, ...]]:
    """Return (divisor, harmonics): the source pitch is that of `p` over `divisor`.

    Parameters
    ----------
    x, rate_hz, start_s
        Samples near the closest point, their rate and start.
    p : PassBy
        Refined pass-by of one line.
    width_s : float
        Longest time over which the source is coherent (s).
    most : int
        Highest harmonic to look at.
    job : Job
    """
    strengths = _all_strengths(x, rate_hz, start_s, p, width_s, most, job)
    if not strengths:
        return Fraction(1), (1,)
    bar = SIGNIFICANT + LEAKAGE * max(strengths.values())
    best: tuple[float, int, tuple[int, ...]] | None = None
    for q in DIVISORS:
        if p.source_hz / q < LOWEST_HZ:
            continue
        gains, present = {}, []
        for h in range(1, most + 1):
            gain = strengths.get(Fraction(h, q), 0.0)
            gaps = [strengths.get(gap, 0.0) for gap in gaps_beside(h, q)]
            gains[h] = gain
            if gain > bar and gain > STAND_OUT * max(0.0, *gaps):
                present.append(h)
        if not present:
            continue
        total = float(sum(gains[h] for h in present))
        absent = max(present) - len(present)
        worth = math.log(total) - PENALTY_SHARE * absent - 0.05 * math.log(q)
        if best is None or worth > best[0]:
            best = (worth, q, tuple(present))
    if best is None:
        return Fraction(1), (1,)
    _, q, lines = best
    series = p.with_(source_hz=p.source_hz / q)
    together = _sounding_together(x, rate_hz, start_s, series, lines, width_s)
    others = {Fraction(h, q) for h in lines if h not in together}
    return _without_common(q, together, {r: g for r, g in strengths.items() if r not in others})


def _sounding_together(
    x: F32, rate_hz: float, start_s: float, p: PassBy, present: tuple[int, ...], width_s: float
) -> tuple[int, ...]:
    """Return the lines that sound when the steadiest does, none that comes in bursts of its own."""
    if len(present) == 1:
        return present
    blocks, edges = _in_windows(x, rate_hz, start_s, p, present, width_s)
    if edges.size < ENOUGH_WINDOWS:
        return present
    heard, steady = courses_of(blocks, p, edges)
    total = heard.sum(axis=1)
    louder = heard / steady
    median = np.array([weighted_quantile(row, steady, 0.5) for row in louder])
    usual = median * np.sum(steady)
    course = heard / total[:, None]
    steadiest = course[int(np.argmax(usual / blocks.noise))]
    alike = np.minimum(course, steadiest).sum(axis=1)
    own = (alike < UNLIKE) & (usual < IN_BURSTS * total)
    return tuple(h for h, apart in zip(present, own, strict=True) if not apart)


def _without_common(
    q: int, present: tuple[int, ...], strengths: dict[Fraction, float]
) -> tuple[Fraction, tuple[int, ...]]:
    """Return a series whose lines are all multiples of one as that of a higher pitch.

    Unless lines between are heard, if too faintly to be sure of them: the more of them there
    might be, the more often noise makes one of them.
    """
    common = math.gcd(*present)
    between = [h for h in range(1, max(present)) if h % common]
    bar = MAYBE + LEAKAGE * max(strengths.values())
    heard = [g for h in between if (g := strengths.get(Fraction(h, q), 0.0)) > bar]
    if heard and sum(heard) > bar + ABSENT_COST * (len(between) - 1):
        return Fraction(q), present
    return Fraction(q, common), tuple(h // common for h in present)


def _all_strengths(
    x: F32, rate_hz: float, start_s: float, p: PassBy, width_s: float, most: int, job: Job
) -> dict[Fraction, float]:
    """Return the strength of every multiple needed, keyed by its ratio to the found line."""
    top = 0.45 * rate_hz
    wanted = lines_and_gaps(DIVISORS, most)
    wanted = {r for r in wanted if LOWEST_HZ < float(r) * p.source_hz < 0.9 * top}
    out: dict[Fraction, float] = {}
    for q in sorted({r.denominator for r in wanted}):
        numbers = tuple(sorted(r.numerator for r in wanted if r.denominator == q))
        job.check()
        base = p.with_(source_hz=p.source_hz / q)
        found = line_strengths(x, rate_hz, start_s, base, numbers, width_s)
        out.update({Fraction(h, q): gain for h, gain in found.items()})
    return out
