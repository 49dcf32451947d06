"""Every check against something outside the project, run now and written as a table.

``python -m tests.benchmarks.outside``. The table is made from the tests themselves: each value
they compare with a published or independent one is noted as it passes by, with the source named
beside it in the test. Nothing is typed twice.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import inspect
import io
import math
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.benchmarks.harness import VALIDATION, machine

ROOT = Path(__file__).resolve().parents[2]
TESTS = (
    "tests/published",
    "tests/core/physics/test_passby.py::test_the_train_horn",
    "tests/core/physics/test_passby.py::test_the_horn_whose_speed_is_asked_for",
    "tests/core/measure/test_lmfit_oracle.py",
)
BEGIN, END = "<!-- outside: begin -->", "<!-- outside: end -->"
_real = pytest.approx


@dataclass(frozen=True)
class Compared:
    """One comparison: what was compared, the other's value, ours, the allowed difference."""

    what: str
    theirs: float
    ours: float
    allowed: float

    @property
    def good(self) -> bool:
        """Whether ours lies within what is allowed."""
        return self.ours == self.theirs or abs(self.ours - self.theirs) <= self.allowed


@dataclass
class Seen:
    """What one test compared, and how it ended."""

    source: str
    case: str
    outcome: str = "not run"
    rows: list[Compared] = field(default_factory=list)


class Noted:
    """Stands in for `pytest.approx`: compares the same way and notes what it saw."""

    __array_ufunc__ = None
    __array_priority__ = 100
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, expected: Any, rel: Any, abs_: Any, nan_ok: bool, notes: Notes) -> None:
        self._inner = _real(expected, rel=rel, abs=abs_, nan_ok=nan_ok)
        self._expected = expected
        self._rel, self._abs, self._notes = rel, abs_, notes

    def __eq__(self, actual: object) -> bool:
        frame = inspect.currentframe()
        caller = frame.f_back if frame is not None else None
        what = _what(caller) if caller is not None else ""
        for theirs, ours in _pairs(self._expected, actual):
            self._notes.add(Compared(what, theirs, ours, self._allowed(theirs)))
        return bool(self._inner == actual)

    def __repr__(self) -> str:
        return repr(self._inner)

    def _allowed(self, theirs: float) -> float:
        if self._abs is not None and self._rel is None:
            return float(self._abs)
        rel = 1e-6 if self._rel is None else float(self._rel)
        return max(rel * abs(theirs), 1e-12 if self._abs is None else float(self._abs))


class Notes:
    """A pytest plug-in that keeps what the tests compared."""

    def __init__(self) -> None:
        self.seen: dict[str, Seen] = {}
        self._now: Seen | None = None

    def approx(self, expected: Any, rel: Any = None, abs: Any = None, nan_ok: bool = False) -> Any:
        """Take the place of `pytest.approx`."""
        return Noted(expected, rel, abs, nan_ok, self)

    def add(self, row: Compared) -> None:
        """Note one comparison of the test that runs."""
        if self._now is not None:
            self._now.rows.append(row)

    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        """Begin a test."""
        function = getattr(item, "function", None)
        _, _, case = item.name.partition("[")
        source = _source(function)
        self._now = Seen(source, case.rstrip("]"))
        if source:
            self.seen[item.nodeid] = self._now

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """End a test."""
        if report.when == "call" and report.nodeid in self.seen:
            self.seen[report.nodeid].outcome = report.outcome


def _source(function: Any) -> str:
    """Return a test's docstring or opening comment; one without is a test of consistency."""
    if function is None:
        return ""
    if function.__doc__:
        return " ".join(inspect.cleandoc(function.__doc__).split("\n\n")[0].split())
    source = textwrap.dedent(inspect.getsource(function))
    definition = ast.parse(source).body[0]
    assert isinstance(definition, ast.FunctionDef)
    lines = source.splitlines()[definition.lineno : definition.body[0].lineno - 1]
    comments = [line.strip().lstrip("# ") for line in lines if line.strip().startswith("#")]
    return " ".join(comments)


def _what(frame: Any) -> str:
    words = _left_side(frame)
    name = frame.f_locals.get("name")
    return f"{name}: {words}" if isinstance(name, str) and name not in words else words


def _left_side(frame: Any) -> str:
    try:
        tree = ast.parse(Path(frame.f_code.co_filename).read_text(encoding="utf-8"))
    except OSError:
        return ""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and node.lineno <= frame.f_lineno <= (
            node.end_lineno or 0
        ):
            return _name_of(node)
    return ""


def _name_of(test: ast.Compare) -> str:
    named = [s for s in (test.left, *test.comparators) if "approx" not in ast.unparse(s)]
    return ast.unparse(named[0]) if named else ""


def _pairs(expected: Any, actual: Any) -> Iterator[tuple[float, float]]:
    try:
        theirs = np.atleast_1d(np.asarray(expected, dtype=np.float64)).ravel()
        ours = np.atleast_1d(np.asarray(actual, dtype=np.float64)).ravel()
    except (TypeError, ValueError):
        return
    if theirs.size == ours.size and theirs.size <= 12:
        yield from ((float(a), float(b)) for a, b in zip(theirs, ours, strict=True))


def collect() -> Notes:
    """Run the tests and return what they compared."""
    notes = Notes()
    pytest.approx = notes.approx  # type: ignore[assignment]
    try:
        options = ["-q", "-p", "no:cacheprovider", "-p", "no:pytest-qt", "-p", "no:xdist"]
        said = io.StringIO()
        with contextlib.redirect_stdout(said):
            code = pytest.main([*options, "--rootdir", str(ROOT), *TESTS], plugins=[notes])
    finally:
        pytest.approx = _real
    if code != 0:
        raise SystemExit(f"{said.getvalue()}\nA check against an outside value fails.")
    return notes


def grouped(notes: Notes) -> dict[str, list[Seen]]:
    """Return the tests by source."""
    groups: dict[str, list[Seen]] = {}
    for seen in notes.seen.values():
        groups.setdefault(_tidy(seen.source), []).append(seen)
    return groups


def summary(groups: dict[str, list[Seen]]) -> str:
    """Return one line a source: how many values, and the difference nearest its limit."""
    lines = [
        "| source and what was compared | values | largest difference | allowed there |",
        "| --- | --- | --- | --- |",
    ]
    for source, tests in groups.items():
        rows = [r for s in tests for r in s.rows if math.isfinite(r.theirs)]
        if not rows:
            lines.append(f"| {_cell(source)} | {len(tests)} inequalities | hold | |")
            continue
        worst = max(rows, key=lambda r: abs(r.ours - r.theirs) / r.allowed)
        lines.append(
            f"| {_cell(source)} | {len(rows)} | {worst.ours - worst.theirs:.2g} "
            f"(outside {_number(worst.theirs)}, ours {_number(worst.ours)}) "
            f"| {worst.allowed:.2g} |"
        )
    return "\n".join(lines) + "\n"


def table(groups: dict[str, list[Seen]]) -> str:
    """Return every comparison in Markdown, one heading a source."""
    every = [r for tests in groups.values() for s in tests for r in s.rows]
    lines = [
        "# Against values from outside",
        "",
        f"{len(groups)} sources, {len(every)} values compared, "
        f"{sum(not r.good for r in every)} outside what is allowed. "
        "“Allowed” is the rounding of the published value, or the difference that the two "
        "methods may have. “Memory” beside a source says that it was recalled, not read again; "
        "such a value is recomputed or confirmed another way.",
    ]
    for source, tests in groups.items():
        lines += ["", f"**{source}**", ""]
        rows = list(dict.fromkeys((s.case, r) for s in tests for r in s.rows))
        if not rows:
            lines.append(f"{len(tests)} tests of an inequality, all hold.")
            continue
        lines += [
            "| case | quantity | outside | ours | difference | allowed |",
            "| --- | --- | --- | --- | --- | --- |",
        ]
        lines += [
            f"| {_cell(case)} | `{_cell(r.what)}` | {_number(r.theirs)} | {_number(r.ours)} "
            f"| {r.ours - r.theirs:.2g} | {r.allowed:.2g} |"
            for case, r in rows
        ]
    return "\n".join(lines) + "\n"


def _tidy(source: str) -> str:
    return source.rstrip(" .:")


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _number(value: float) -> str:
    return f"{value:.9g}" if math.isfinite(value) else str(value)


def replaced(page: str, lines: str) -> str:
    """Return the page with the lines between its two marks replaced."""
    head, mark, rest = page.partition(BEGIN)
    _, end, tail = rest.partition(END)
    if not mark or not end:
        raise SystemExit(f"The page lacks the marks {BEGIN} and {END}.")
    return f"{head}{mark}\n\n{lines}\n{end}{tail}"


def main() -> int:
    """Write the table, and its summary into the page of the validation."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=VALIDATION)
    args = parser.parse_args()
    groups = grouped(collect())
    text = f"{table(groups)}\nMade by `python -m tests.benchmarks.outside`. {machine()}\n"
    (args.out / "outside.md").write_text(text, encoding="utf-8")
    page = args.out / "README.md"
    if page.exists():
        page.write_text(
            replaced(page.read_text(encoding="utf-8"), summary(groups)), encoding="utf-8"
        )
    print(summary(groups))
    return 0


if __name__ == "__main__":
    sys.exit(main())
