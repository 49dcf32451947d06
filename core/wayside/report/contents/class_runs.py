"""The class's runs as a table, and what they say together."""

from __future__ import annotations

from dataclasses import replace

from wayside.hand import digits
from wayside.hand.predict import RESULTS
from wayside.quantity import Quantity
from wayside.report.blocks import HAND, SOUND, Block, Items, Section, Shown, Subhead, Table
from wayside.report.figures.class_speeds import class_figure
from wayside.report.text import one_line
from wayside.review.row import MEASURED, RunRow
from wayside.review.summary import Pair, Summary, summary_by_group, summary_of
from wayside.review.together import Together

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
    summary = summary_of(rows)
    speed = next((t for t in summary.means if t.name == "speed_mps"), None)
    figure = class_figure(rows, speed.pooled.mean if speed is not None else None, f"{key}-speeds")
    if figure is not None:
        blocks.append(Shown(figure))
    blocks += _together(summary)
    blocks += _by_group(rows)
    if summary.pairs:
        pairs = (f"{p.out} and {p.back}: {_finding(p)}" for p in summary.pairs)
        blocks += [Subhead("Out and back"), Items(tuple(one_line(p) for p in pairs))]
    return Section(key, "The class", tuple(blocks))


def _together(s: Summary) -> list[Block]:
    if s.measured < 2:
        return []
    pooled = [t for t in (*s.means, *s.differences) if t.pooled.n > 1]
    head = ("quantity", "runs", "mean", "chi-square", "p", "Birge ratio", "scatter between runs")
    blocks: list[Block] = []
    if pooled:
        rows = tuple(_pooled(t) for t in pooled)
        blocks = [
            Table("All runs together", head, rows, ("", "", SOUND)),
            Items(tuple(t.sentence for t in pooled)),
        ]
    flags = tuple(dict.fromkeys(f.sentence for o in s.odd for f in o.flags))
    said = flags or tuple(dict.fromkeys(o.sentence for o in s.odd))
    if said:
        blocks += [Subhead("Runs that stand out"), Items(said)]
    return blocks


def _by_group(rows: tuple[RunRow, ...]) -> list[Block]:
    found: list[Block] = []
    for group, one in summary_by_group(rows).items():
        if one.measured > 1:
            title = f"Group {one_line(group)}" if group else "Outside any group"
            found += [Subhead(title), Items(tuple(t.sentence for t in one.means))]
    return found


def _finding(pair: Pair) -> str:
    return pair.wind.finding if pair.wind is not None else pair.sentence


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
