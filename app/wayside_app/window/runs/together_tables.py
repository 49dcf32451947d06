"""What the runs in sight say together, as rows of the two tables below the list."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QCoreApplication

from wayside.errors import InputError
from wayside.quantity import Quantity
from wayside.review.in_order import pairs_in_order
from wayside.review.outliers import odd_runs
from wayside.review.pool import CONSISTENT
from wayside.review.row import RunRow
from wayside.review.summary import Pair
from wayside.review.together import Together, pool_differences, pool_measured
from wayside_app.window import figures
from wayside_app.window.pages.sheet_table import Cell
from wayside_app.window.words import said


@dataclass(frozen=True)
class AllTogether:
    """Everything several runs say together.

    Parameters
    ----------
    pools : tuple of Together
        Source pitch and speed by sound, then measured minus predicted.
    pairs : tuple of Pair
    odd : mapping of str to tuple of str
        By name of the run, why it stands out.
    untold : str
        Why it cannot be told whether one stands out; empty if it can.
    fault : str
        Why nothing can be pooled; empty if it can.
    """

    pools: tuple[Together, ...]
    pairs: tuple[Pair, ...]
    odd: dict[str, tuple[str, ...]]
    untold: str
    fault: str


NOTHING = AllTogether((), (), {}, "", "")


def put_together(rows: Sequence[RunRow]) -> AllTogether:
    """Pool what the runs say."""
    try:
        found = (
            pool_measured(rows, "speed_mps"),
            pool_measured(rows, "source_hz"),
            pool_differences(rows, "speed_mps"),
            pool_differences(rows, "source_hz"),
        )
        pools = tuple(t for t in found if t is not None)
        odd: dict[str, tuple[str, ...]] = {}
        untold = ""
        for t in pools:
            looked = odd_runs(t)
            for flag in looked.flags:
                odd[flag.name] = (*odd.get(flag.name, ()), flag.sentence)
            if len(t.values) < 4 and not untold:
                untold = looked.sentence
        return AllTogether(pools, pairs_in_order(rows), odd, untold, "")
    except InputError as error:
        return AllTogether((), (), {}, "", str(error))


def pool_headings() -> tuple[str, ...]:
    """Return the headings of the table of means."""
    return (
        _tr("together"),
        _tr("runs"),
        _tr("weighted mean"),
        _tr("chi-square"),
        _tr("its probability"),
        _tr("Birge ratio"),
        _tr("scatter between runs"),
    )


def pool_rows(pools: Sequence[Together]) -> list[list[Cell]]:
    """Return the rows of the table of means."""
    return [_pool_row(t) for t in pools]


def pair_headings() -> tuple[str, ...]:
    """Return the headings of the table of pairs."""
    return (
        _tr("out and back"),
        _tr("wind along the track"),
        _tr("speed out"),
        _tr("speed back"),
        _tr("source pitch"),
    )


def pair_rows(pairs: Sequence[Pair]) -> list[list[Cell]]:
    """Return the rows of the table of pairs that show the wind."""
    return [
        [
            Cell(_tr("{out} and {back}").format(out=p.out, back=p.back), spoken=said(p.sentence)),
            Cell(_signed(p.wind.wind_mps), "sound", bold=True),
            Cell(figures.full(p.wind.speed_out_mps), "sound"),
            Cell(figures.full(p.wind.speed_back_mps), "sound"),
            Cell(figures.full(p.wind.source_hz), "sound"),
        ]
        for p in pairs
        if p.wind is not None
    ]


def sentences(all_of_them: AllTogether) -> str:
    """Return in words what the tables say, and what they cannot say."""
    parts = [said(all_of_them.fault), *(said(t.sentence) for t in all_of_them.pools[:1])]
    parts += [said(t.sentence) for t in all_of_them.pools if t.difference][:1]
    parts.append(said(all_of_them.untold))
    winds = [p for p in all_of_them.pairs if p.wind is not None]
    refused = dict.fromkeys(p.sentence for p in all_of_them.pairs if p.wind is None)
    parts += [said(p.sentence) for p in winds[:1]]
    parts += [said(sentence) for sentence in refused]
    return "\n".join(part for part in parts if part)


def _pool_row(t: Together) -> list[Cell]:
    p = t.pooled
    names = {
        ("speed_mps", False): _tr("speed by sound"),
        ("source_hz", False): _tr("source pitch by sound"),
        ("speed_mps", True): _tr("speed, sound − hand"),
        ("source_hz", True): _tr("source pitch, sound − hand"),
    }
    colour = "text" if t.difference else "sound"
    doubtful = math.isfinite(p.p_value) and p.p_value < CONSISTENT
    scatter = Quantity(p.scatter, 0.1 * p.scatter, p.mean.unit)
    mean = _signed(p.mean) if t.difference else figures.full(p.mean)
    return [
        Cell(names[t.name, t.difference], spoken=said(t.sentence)),
        Cell(str(p.n)),
        Cell(mean, colour, bold=True),
        Cell(_number(p.chi_square)),
        Cell(_chance(p.p_value), "differ" if doubtful else "text"),
        Cell(_number(p.birge), "differ" if doubtful else "text"),
        Cell(_tr("none shows") if p.scatter == 0 else figures.value(scatter)),
    ]


def _signed(quantity: Quantity) -> str:
    text = figures.full(quantity)
    return f"+{text}" if quantity.value > 0 else text


def _number(x: float) -> str:
    """Write a number with about three digits."""
    return figures.plain(x, 0 if abs(x) >= 100 else 1 if abs(x) >= 10 else 2)


def _chance(p: float) -> str:
    if not math.isfinite(p):
        return "–"
    return _tr("under 0.1 %") if p < 0.001 else f"{figures.plain(100.0 * p, 1)} %"


def _tr(text: str) -> str:
    return QCoreApplication.translate("Runs", text)
