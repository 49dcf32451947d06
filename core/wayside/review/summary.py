"""Everything that many rows say together: means, odd runs, pairs in the wind."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from wayside.errors import InputError
from wayside.review.outliers import OddRuns, odd_runs
from wayside.review.row import BACK, FAILED, MEASURED, OUT, REFUSED, RunRow
from wayside.review.together import POOLED, Together, pool_differences, pool_measured
from wayside.review.wind_pair import WindPair, wind_from_rows

_WAY = re.compile(rf"(?:(.*?)[-_ .]+)?({OUT}|{BACK})", re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True)
class Pair:
    """A run out and the run back that belongs to it.

    Parameters
    ----------
    out, back : str
        Their names.
    wind : WindPair or None
        None where the pair cannot show the wind.
    sentence : str
    """

    out: str
    back: str
    wind: WindPair | None
    sentence: str


@dataclass(frozen=True)
class Summary:
    """What many rows say together.

    Parameters
    ----------
    measured, refused, failed : int
        How many of each.
    means, differences : tuple of Together
        Of the measured values, and of measured minus predicted.
    odd : tuple of OddRuns
        One for each of `means`.
    pairs : tuple of Pair
    """

    measured: int
    refused: int
    failed: int
    means: tuple[Together, ...]
    differences: tuple[Together, ...]
    odd: tuple[OddRuns, ...]
    pairs: tuple[Pair, ...]


def summary_of(rows: Sequence[RunRow]) -> Summary:
    """Return what the rows say together."""
    means = tuple(t for name in POOLED if (t := pool_measured(rows, name)) is not None)
    differences = tuple(t for name in POOLED if (t := pool_differences(rows, name)) is not None)
    return Summary(
        measured=sum(r.outcome == MEASURED for r in rows),
        refused=sum(r.outcome == REFUSED for r in rows),
        failed=sum(r.outcome == FAILED for r in rows),
        means=means,
        differences=differences,
        odd=tuple(odd_runs(t) for t in means),
        pairs=pairs_of(rows),
    )


def summary_by_group(rows: Sequence[RunRow]) -> dict[str, Summary]:
    """Return a summary for each group; empty if there are not two groups at least."""
    groups = sorted({r.group for r in rows})
    if len(groups) < 2:
        return {}
    return {g: summary_of([r for r in rows if r.group == g]) for g in groups}


def direction_of(stem: str) -> tuple[str, str]:
    """Return the way a run went, told by the end of its name, and the name without it.

    ``"lane 3-out"`` is ``("out", "lane 3")``; a name that says nothing is ``("", name)``.
    """
    found = _WAY.fullmatch(stem)
    if found is None:
        return "", stem
    return found[2].lower(), found[1] or ""


def pairs_of(rows: Sequence[RunRow]) -> tuple[Pair, ...]:
    """Return the pairs of runs out and back that share a group and the rest of their name."""
    found: dict[tuple[str, str], dict[str, list[RunRow]]] = {}
    for row in rows:
        if row.outcome == MEASURED and row.direction:
            stem = row.name.rsplit(".", 1)[0]
            key = (row.group, direction_of(stem)[1])
            found.setdefault(key, {}).setdefault(row.direction, []).append(row)
    pairs = []
    for both in found.values():
        out, back = both.get(OUT, []), both.get(BACK, [])
        if len(out) == 1 and len(back) == 1:
            pairs.append(pair_of(out[0], back[0]))
    return tuple(pairs)


def pair_of(out: RunRow, back: RunRow) -> Pair:
    """Return a pair with the wind it shows, or why it shows none."""
    try:
        wind = wind_from_rows(out, back)
    except InputError as error:
        return Pair(out.name, back.name, None, str(error))
    return Pair(out.name, back.name, wind, wind.sentence)
