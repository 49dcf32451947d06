"""What the runners share: running in parallel, keeping results, writing tables."""

from __future__ import annotations

import argparse
import csv
import math
import multiprocessing
import os
import platform
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
VALIDATION = ROOT / "docs" / "validation"
Row = dict[str, Any]


def parser(text: str | None, name: str) -> argparse.ArgumentParser:
    """Return a parser with the options every runner has."""
    made = argparse.ArgumentParser(
        prog=f"python -m tests.benchmarks.{name}", description=text, allow_abbrev=False
    )
    made.add_argument("--processes", type=int, default=2, help="runs at a time (default 2)")
    made.add_argument(
        "--out", type=Path, default=VALIDATION, help="folder for the tables (docs/validation)"
    )
    made.add_argument("--again", action="store_true", help="run rows that are already kept")
    return made


def in_parallel(
    work: Callable[[Any], Any], items: Sequence[Any], processes: int
) -> Iterator[tuple[int, Any]]:
    """Yield (index, work(item)) as they finish; one process means no pool."""
    if processes <= 1 or len(items) <= 1:
        for index, item in enumerate(items):
            yield index, work(item)
        return
    # one thread each, or the library's own threads fight over the cores
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    context = multiprocessing.get_context("spawn")
    with context.Pool(processes) as pool:
        chunk = max(1, min(8, len(items) // (processes * 8)))
        yield from pool.imap_unordered(_Numbered(work), list(enumerate(items)), chunk)


class _Numbered:
    def __init__(self, work: Callable[[Any], Any]) -> None:
        self.work = work

    def __call__(self, pair: tuple[int, Any]) -> tuple[int, Any]:
        return pair[0], self.work(pair[1])


class Kept:
    """Rows kept in a CSV file under a name, so that a stopped run can go on."""

    def __init__(self, path: Path, columns: Sequence[str]) -> None:
        self.path, self.columns = path, list(columns)
        self.rows: dict[str, Row] = {}
        if path.exists():
            with path.open(newline="", encoding="utf-8") as stream:
                for row in csv.DictReader(stream):
                    self.rows[row[self.columns[0]]] = {k: _value(v) for k, v in row.items()}

    def has(self, name: str, runs: int) -> bool:
        """Whether a row of that name with at least so many runs is kept."""
        return name in self.rows and (self.rows[name].get("runs") or 0) >= runs

    def keep(self, row: Row) -> None:
        """Put in or replace a row and write the file whole."""
        self.rows[str(row[self.columns[0]])] = row
        self.path.parent.mkdir(parents=True, exist_ok=True)
        part = self.path.with_suffix(".part")
        with part.open("w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, self.columns, extrasaction="ignore")
            writer.writeheader()
            for kept in self.rows.values():
                writer.writerow({k: _text(kept.get(k)) for k in self.columns})
        part.replace(self.path)


def markdown(columns: Sequence[str], rows: Sequence[Row]) -> str:
    """Return a table in Markdown."""
    lines = ["| " + " | ".join(columns) + " |", "| " + " | ".join("---" for _ in columns) + " |"]
    lines += ["| " + " | ".join(_text(row.get(c)) for c in columns) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def write_page(
    path: Path,
    title: str,
    about: str,
    columns: Sequence[str],
    rows: Sequence[Row],
    name: str,
    below: str = "",
) -> None:
    """Write a table as a page: what it shows, the rows, and how they are made again."""
    path.write_text(
        f"# {title}\n\n{about}\n\n{markdown(columns, rows)}\n{below}"
        f"Made by `python -m tests.benchmarks.{name}`. {machine()}\n",
        encoding="utf-8",
    )


def percent(hits: int, of: int) -> float:
    """Return a share in per cent, NaN of nothing."""
    return 100.0 * hits / of if of else math.nan


def median(values: Sequence[float]) -> float:
    """Return the median, NaN of nothing."""
    return float(np.median(values)) if values else math.nan


def by_kind(
    text: str | None,
    name: str,
    columns: Sequence[str],
    kinds: Iterable[str],
    one: Callable[[tuple[str, int]], Any],
    row_of: Callable[[str, list[Any]], Row],
    write: Callable[[Path, Kept], None],
) -> None:
    """Run a benchmark of so many recordings of each kind from the command line.

    Parameters
    ----------
    text : str or None
        What its help says.
    name : str
        Of the runner, the table and the page.
    columns : sequence of str
    kinds : iterable of str
    one : callable
        Measures the recording of a kind and a seed.
    row_of : callable
        Sums up what came of a kind.
    write : callable
        Writes the page.
    """
    options = parser(text, name)
    options.add_argument("--runs", type=int, default=100, help="recordings of each kind")
    args = options.parse_args()
    kept = Kept(args.out / f"{name}.csv", columns)
    for kind in kinds:
        if not args.again and kept.has(kind, args.runs):
            continue
        items = [(kind, seed) for seed in range(args.runs)]
        kept.keep(row_of(kind, [o for _, o in in_parallel(one, items, args.processes)]))
        write(args.out / f"{name}.md", kept)
        say(f"{kind}: done")
    print(markdown(columns, list(kept.rows.values())))


def machine() -> str:
    """Return one line on what the numbers were measured with."""
    import numpy
    import scipy

    return (
        f"Python {platform.python_version()}, numpy {numpy.__version__}, "
        f"scipy {scipy.__version__}, {os.cpu_count()} cores."
    )


def wilson(hits: int, n: int, z: float = 1.96) -> tuple[float, float]:
    """Return the 95 % interval of a proportion (Wilson, J. Am. Stat. Assoc. 22 (1927) 209)."""
    if n == 0:
        return 0.0, 1.0
    p = hits / n
    centre = p + z * z / (2 * n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    scale = 1 + z * z / n
    # rounding must not carry a share of nothing below it
    return max(0.0, (centre - half) / scale), min(1.0, (centre + half) / scale)


def say(text: str) -> None:
    """Print with the time of day, at once."""
    print(f"{time.strftime('%H:%M:%S')} {text}", file=sys.stderr, flush=True)


def _text(value: Any) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, float):
        return f"{value:.4g}"
    return str(value)


def _value(text: str) -> Any:
    if text == "":
        return None
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text
