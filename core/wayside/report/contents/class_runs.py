"""The class's runs as a table, and what they say together."""

from __future__ import annotations

from dataclasses import replace

from wayside.hand import digits
from wayside.hand.predict import RESULTS
from wayside.quantity import Quantity
from wayside.report.blocks import HAND, SOUND, Block, Items, Para, Section, Shown, Subhead, Table
from wayside.report.figures.class_speeds import class_figure
from wayside.report.text import one_line
from wayside.review.outliers import odd_runs
from wayside.review.row import MEASURED, RunRow
from wayside.review.together import POOLED, Together, pool_differences, pool_measured

_HEAD = (
    "run",
    "group",
    "direction",
    "speed by hand (m/s)",
    "speed by sound (m/s)",
    "difference (m/s)",
    "E_n",
    "source pitch by sound (Hz)",
    "verdict",
)

_SMALLEST = 1e-4
"""Probabilities below this are only said to be below it."""


def class_section(rows: tuple[RunRow, ...], key: str = "class") -> Section:
    """Return the table of all runs, their mean, their scatter and the odd ones."""
    blocks: list[Block] = [
        Table(
            f"All {len(rows)} runs (± is one standard uncertainty)",
            _HEAD,
            tuple(_row(r) for r in rows),
            ("", "", "", HAND, SOUND, "", "", SOUND, ""),
            frozenset({1, 2, 8}),
        )
    ]
    silent = tuple(
        f"{one_line(r.name)}: {r.sentence}" for r in rows if r.outcome != MEASURED and r.sentence
    )
    if silent:
        blocks += [Subhead("Runs without a result"), Items(silent)]
    speed = pool_measured(rows, "speed_mps")
    figure = class_figure(rows, speed.pooled.mean if speed is not None else None, f"{key}-speeds")
    if figure is not None:
        blocks.append(Shown(figure))
    blocks += _together(rows)
    return Section(key, "The class", tuple(blocks))


def _together(rows: tuple[RunRow, ...]) -> list[Block]:
    found = [
        t for name in POOLED for t in (pool_measured(rows, name), pool_differences(rows, name))
    ]
    pooled = [t for t in found if t is not None and t.pooled.n > 1]
    if not pooled:
        return []
    head = ("quantity", "runs", "mean", "chi-square", "p", "Birge ratio", "scatter between runs")
    table = Table("All runs together", head, tuple(_pooled(t) for t in pooled), ("", "", SOUND))
    sentences = tuple(t.sentence for t in pooled)
    odd = tuple(dict.fromkeys(f.sentence for t in pooled for f in odd_runs(t).flags))
    blocks: list[Block] = [table, Items(sentences)]
    if odd:
        blocks += [Subhead("Runs that stand out"), Items(odd)]
    else:
        first = odd_runs(pooled[0]).sentence
        blocks.append(Para(first))
    return blocks


def _pooled(t: Together) -> tuple[str, ...]:
    p = t.pooled
    unit = p.mean.unit
    label = RESULTS[t.name][0] + (", sound minus hand" if t.difference else "")
    scatter = digits.with_unit(Quantity(p.scatter, 0.1 * p.scatter, unit)) if p.scatter else "none"
    return (
        label,
        str(p.n),
        digits.full_text(p.mean),
        f"{p.chi_square:.3g}",
        f"{p.p_value:.2g}" if p.p_value >= _SMALLEST else f"below {_SMALLEST:g}",
        f"{p.birge:.2f}",
        scatter,
    )


def _row(r: RunRow) -> tuple[str, ...]:
    s = r.speed_mps
    return (
        one_line(r.name),
        one_line(r.group),
        r.direction,
        _text(s.predicted),
        _text(s.measured),
        _text(s.difference),
        "" if s.e_n is None else f"{s.e_n:+.2f}".replace("-", digits.MINUS),
        _text(r.source_hz.measured),
        r.overall_words or ("" if r.outcome == MEASURED else r.outcome),
    )


def _text(q: Quantity | None) -> str:
    """Write a quantity without its unit, which stands in the heading."""
    return "" if q is None else digits.full_text(replace(q, unit=""))
