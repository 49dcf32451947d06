"""Which line of a harmonic series the search found, and which others are there.

The found line is taken for harmonic 1, 2, ... 8 in turn; a fundamental earns the likelihood
of every line it explains and pays for every line it promises below the highest one present
that is not there. So a missing or weak fundamental costs little, a false octave much. A line
must stand out from the gaps beside it, or a short window's smear would count as lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from wayside.measure.planes import Plane
from wayside.measure.search import FINE_POINTS, Candidate, Curves, scores, single, steady_score

HIGHEST_HARMONIC = 12
MOST_LINES = 8
DEEPEST = 8
PRESENT = 6.0
PRESENT_SHARE = 0.002
ABSENT_COST = 3.0
STAND_OUT = 2.0
LOWEST_FUNDAMENTAL_HZ = 25.0


@dataclass(frozen=True)
class Comb:
    """A harmonic series along a glide.

    Parameters
    ----------
    number : int
        The found line is this harmonic of the fundamental.
    harmonics : tuple of int
        Harmonics of the fundamental that are present.
    score : float
        Their summed log-likelihood ratio (nats).
    """

    number: int
    harmonics: tuple[int, ...]
    score: float


def lines_and_gaps(divisors: Iterable[int], most: int) -> set[Fraction]:
    """Return lines 1 to `most` of every sub-multiple, and the gaps beside each, as ratios."""
    return {Fraction(h, 2 * k) for k in divisors for h in range(1, 2 * most + 2)}


def gaps_beside(harmonic: int, divisor: int) -> tuple[Fraction, Fraction]:
    """Return the ratios half way to the lines on either side."""
    return Fraction(2 * harmonic - 1, 2 * divisor), Fraction(2 * harmonic + 1, 2 * divisor)


def comb_of(found: Candidate, planes: tuple[Plane, ...]) -> Comb:
    """Return the harmonic series that best explains the lines along a found glide."""
    top = max(p.bin_hz * p.power.shape[1] for p in planes)
    numbers = range(1, HIGHEST_HARMONIC + 1)
    usable = sorted(
        r
        for r in lines_and_gaps(range(1, DEEPEST + 1), HIGHEST_HARMONIC)
        if float(r) * found.alpha_hz > LOWEST_FUNDAMENTAL_HZ
        and float(r) * found.alpha_hz * (1 + found.mach) < 0.9 * top
    )
    value = dict(zip(usable, _lines(found, planes, [float(r) for r in usable]), strict=True))
    # the evidence of a line must stand out of the leakage of the strongest
    bar = PRESENT + PRESENT_SHARE * max(value.values())
    best = Comb(1, (1,), found.score)
    best_worth = -math.inf
    for k in range(1, DEEPEST + 1):
        if found.alpha_hz / k < LOWEST_FUNDAMENTAL_HZ:
            break
        lines = {h: value.get(Fraction(h, k), 0.0) for h in numbers}
        gaps = {h: max(value.get(gap, 0.0) for gap in gaps_beside(h, k)) for h in numbers}
        present = [h for h, v in lines.items() if v > bar and v > STAND_OUT * gaps[h]]
        if not present:
            continue
        score = sum(lines[h] for h in present)
        worth = score - (max(present) - len(present)) * (ABSENT_COST + 0.01 * score)
        if worth > best_worth + 1e-9:
            strongest = sorted(present, key=lambda h: -lines[h])[:MOST_LINES]
            best, best_worth = Comb(k, tuple(sorted(strongest)), score), worth
    return best


def summed_evidence(found: Candidate, comb: Comb, plane: Plane) -> float:
    """Return how much better all the lines of a glide do than as many steady tones (nats).

    Lines too faint to be seen alone are seen together.
    """
    total = 0.0
    for harmonic in comb.harmonics:
        pitch = found.alpha_hz * harmonic / comb.number
        curve = single(pitch, found.mach, found.s, found.tc)
        total += float(scores(curve, plane, FINE_POINTS)[0])
        total -= steady_score(curve, plane, FINE_POINTS)
    return total


def _lines(found: Candidate, planes: tuple[Plane, ...], ratios: list[float]) -> list[float]:
    r = np.array(ratios)
    one = np.ones_like(r)
    curves = Curves(found.alpha_hz * r, found.mach * one, found.s * one, found.tc * one)
    best = np.zeros(r.size)
    for number in range(max(0, found.plane - 1), min(len(planes), found.plane + 2)):
        best = np.maximum(best, scores(curves, planes[number], FINE_POINTS))
    return [float(v) for v in best]
