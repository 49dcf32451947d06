"""Pairs out and back where the runs' names do not say which belong together."""

from __future__ import annotations

from collections.abc import Sequence

from wayside.review.row import BACK, MEASURED, OUT, RunRow
from wayside.review.summary import Pair, pair_of, pairs_of


def pairs_in_order(rows: Sequence[RunRow]) -> tuple[Pair, ...]:
    """Return the pairs that names tell, then those left of each group in the order given.

    The first run out left of a group goes with the first run back left of it, and so on: a
    group that rides to and fro makes its runs in that order.
    """
    told = pairs_of(rows)
    taken = {name for pair in told for name in (pair.out, pair.back)}
    left = [r for r in rows if r.outcome == MEASURED and r.name not in taken]
    pairs = list(told)
    for group in dict.fromkeys(r.group for r in left):
        out, back = (
            [r for r in left if (r.group, r.direction) == (group, way)] for way in (OUT, BACK)
        )
        pairs += [pair_of(a, b) for a, b in zip(out, back, strict=False)]
    return tuple(pairs)
