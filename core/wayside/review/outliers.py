"""Runs that do not belong with the others, and why.

Each run is set against the mean of all others: its distance over the uncertainty of that
distance is referred to Student's t with n - 2 degrees of freedom, the chance of a false flag
shared out over the runs (Bonferroni). A run is flagged, never dropped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import stdtrit

from wayside.hand import digits
from wayside.hand.predict import RESULTS
from wayside.quantity import Quantity
from wayside.review.pool import own_uncertainty, pool
from wayside.review.together import Together

LEAST_RUNS = 4
FALSE_FLAG = 0.05
"""Chance that a set of runs without an odd one is given a flag."""


@dataclass(frozen=True)
class Flag:
    """One run that stands out.

    Parameters
    ----------
    name : str
        The run.
    quantity : str
        Result name, e.g. ``"speed_mps"``.
    distance : Quantity
        The run's value minus the mean of the others; shared causes cancel.
    ratio, limit : float
        That distance over its standard uncertainty, and the most chance allows.
    sentence : str
    """

    name: str
    quantity: str
    distance: Quantity
    ratio: float
    limit: float
    sentence: str


@dataclass(frozen=True)
class OddRuns:
    """The search for odd runs in one quantity.

    Parameters
    ----------
    flags : tuple of Flag
        Furthest first.
    sentence : str
        The outcome in plain words, also when it cannot be told.
    """

    flags: tuple[Flag, ...]
    sentence: str


def odd_runs(t: Together) -> OddRuns:
    """Look for runs that do not belong with the others."""
    n = len(t.values)
    label = RESULTS[t.name][0]
    if n < LEAST_RUNS:
        return OddRuns(
            (),
            f"{label.capitalize()}: with {n} run{'s' if n > 1 else ''} it cannot be told whether "
            f"one is odd; that needs at least {LEAST_RUNS}.",
        )
    limit = float(stdtrit(n - 2, 1.0 - 0.5 * FALSE_FLAG / n))
    found = [f for i in range(n) if (f := _flag(t, i, limit)) is not None]
    found.sort(key=lambda f: -abs(f.ratio))
    if not found:
        return OddRuns((), f"{label.capitalize()}: no run stands out from the other {n - 1}.")
    return OddRuns(tuple(found), " ".join(f.sentence for f in found))


def _flag(t: Together, i: int, limit: float) -> Flag | None:
    own = [
        Quantity(q.value, own_uncertainty(q, [p[j] for p in t.shared.values()]), q.unit)
        for j, q in enumerate(t.values)
    ]
    others = pool([q for j, q in enumerate(own) if j != i])
    one = own[i]
    distance = one.value - others.mean.value
    u = math.sqrt(one.u**2 + others.scatter**2 + others.mean.u**2)
    ratio = distance / u
    if abs(ratio) <= limit:
        return None
    away = digits.with_unit(Quantity(abs(distance), u, one.unit))
    side = "above" if distance > 0 else "below"
    sentence = (
        f"{t.names[i]} stands out: its {RESULTS[t.name][0]} lies {away} {side} the mean of the "
        f"other {len(own) - 1} runs, {abs(ratio):.1f} times the uncertainty of that distance, "
        f"where chance allows {limit:.1f}. Look at that recording before leaving it out."
    )
    return Flag(t.names[i], t.name, Quantity(distance, u, one.unit), ratio, limit, sentence)
