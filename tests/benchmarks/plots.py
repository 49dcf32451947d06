"""Draws the kept tables as pictures: ``python -m tests.benchmarks.plots``.

Reads the CSV files in docs/validation and writes an SVG beside each it knows.
"""

from __future__ import annotations

import argparse
import csv
import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from html import escape
from pathlib import Path

from tests.benchmarks.harness import VALIDATION, wilson

WIDTH, LEFT, RIGHT, ROW, TOP = 760, 250, 30, 20, 54
INK, MARK, LINE, PALE = "#222222", "#1f5fa8", "#b34d00", "#d8d8d8"
Row = dict[str, str]


@dataclass(frozen=True)
class Dot:
    """One line of a plot: a value and the interval about it."""

    label: str
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Plot:
    """A plot of dots: title, axis, its ends, lines to compare with (value, what it is)."""

    title: str
    axis: str
    ends: tuple[float, float]
    lines: tuple[tuple[float, str], ...]
    dots: tuple[Dot, ...]


def near_bound(rows: list[Row]) -> Plot:
    """Errors of speed over the Cramér-Rao bound, the faintest last."""
    dots = []
    for row in sorted(rows, key=lambda r: (-_loudness(r["cell"]), r["cell"])):
        ratio, n = _number(row["v: RMS / bound"]), float(row["runs"])
        if math.isfinite(ratio):
            # a root mean square of n normal errors has a relative spread of 1/sqrt(2 n)
            half = 1.96 * ratio / math.sqrt(2 * n)
            dots.append(Dot(row["cell"], ratio, ratio - half, ratio + half))
    lines = ((1.0, "bound"), (1.2, "asked for"))
    return Plot(
        "Errors of speed, loudest cells first", "RMS error / bound", (0, 4), lines, (*dots,)
    )


def coverage(column: str, title: str, truth: float, only: str = "") -> Callable[[list[Row]], Plot]:
    """How often intervals hold the truth, one line a condition whose name ends in `only`."""

    def make(rows: list[Row]) -> Plot:
        name = next(iter(rows[0]))
        dots = []
        for row in rows:
            share = _number(row[column])
            if row[name].endswith(only) and math.isfinite(share):
                found = float(row["runs"]) * _number(row.get("found (%)", "100")) / 100
                low, high = wilson(round(share / 100 * found), round(found))
                dots.append(Dot(row[name].removesuffix(only), share, 100 * low, 100 * high))
        return Plot(title, column, (40, 100), ((truth, f"{truth:g} % is true"),), tuple(dots))

    return make


def refusal(rows: list[Row]) -> Plot:
    """Recordings without a pass-by that are called one."""
    dots = []
    for row in rows:
        low, high = wilson(int(row["called a pass-by"]), int(row["runs"]))
        dots.append(Dot(row["kind"], _number(row["share (%)"]), 100 * max(0.0, low), 100 * high))
    return Plot(
        "Recordings without a pass-by that are called one",
        "share (%), with 95 % interval",
        (0, 10),
        ((0.5, "asked for, all together"),),
        tuple(dots),
    )


PLOTS: dict[str, Callable[[list[Row]], Plot]] = {
    "near-bound": near_bound,
    "coverage": coverage(
        "in 68 % interval (%)", "Speed: truth in the 68 % interval", 68.0, ": speed_mps"
    ),
    "steadiness": coverage(
        "drift within u (%)", "Drift of the source's pitch: truth within one u", 68.3
    ),
    "refusal": refusal,
}


def svg(plot: Plot) -> str:
    """Return the plot as SVG text."""
    height = TOP + ROW * len(plot.dots) + 46
    bottom = height - 40

    def x(value: float) -> float:
        low, high = plot.ends
        share = (min(max(value, low), high) - low) / (high - low)
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
        f'font-family="sans-serif" font-size="12" fill="{INK}">',
        f"<title>{escape(plot.title)}</title>",
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        f'<text x="10" y="20" font-size="15">{escape(plot.title)}</text>',
    ]
    for k in range(5):
        value = plot.ends[0] + k * (plot.ends[1] - plot.ends[0]) / 4
        parts += [
            f'<path d="M{x(value):.1f} {TOP - 10}V{bottom}" stroke="{PALE}"/>',
            f'<text x="{x(value):.1f}" y="{bottom + 15}" text-anchor="middle">{value:g}</text>',
        ]
    for value, words in plot.lines:
        parts += [
            f'<path d="M{x(value):.1f} {TOP - 14}V{bottom}" stroke="{LINE}" '
            f'stroke-dasharray="5 3"/>',
            f'<text x="{x(value) + 3:.1f}" y="{TOP - 16 - 13 * (plot.lines[0][0] != value)}" '
            f'fill="{LINE}">{escape(words)}</text>',
        ]
    for i, dot in enumerate(plot.dots):
        y = TOP + ROW * i + 4
        parts += [
            f'<text x="{LEFT - 10}" y="{y + 4}" text-anchor="end">{escape(dot.label)}</text>',
            f'<path d="M{x(dot.low):.1f} {y}H{x(dot.high):.1f}" stroke="{MARK}" stroke-width="2"/>',
            f'<circle cx="{x(dot.value):.1f}" cy="{y}" r="4" fill="{MARK}"/>',
        ]
    parts += [
        f'<text x="{LEFT}" y="{height - 8}">{escape(plot.axis)}; bars: 95 % interval of the '
        f"runs</text>",
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def main() -> int:
    """Draw what is kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=VALIDATION)
    args = parser.parse_args()
    for name, make in PLOTS.items():
        path = args.out / f"{name}.csv"
        if path.exists():
            with path.open(newline="", encoding="utf-8") as stream:
                rows = list(csv.DictReader(stream))
            (args.out / f"{name}.svg").write_text(svg(make(rows)), encoding="utf-8")
            print(f"{name}.svg")
    return 0


def _number(text: str) -> float:
    return float(text) if text else math.nan


def _loudness(cell: str) -> float:
    return float(cell.rsplit("-", 1)[1].removesuffix("dB")) * (-1 if "--" in cell else 1)


if __name__ == "__main__":
    sys.exit(main())
