"""Writes docs/validation/mutation.md from the kept results: ``python -m tests.mutation.table``."""

from __future__ import annotations

import argparse
import csv
import sys
from collections import defaultdict
from pathlib import Path

from tests.benchmarks.harness import machine, markdown
from tests.mutation.equivalent import reason
from tests.mutation.run import KEPT, SURVIVED

COLUMNS = ("file", "faults", "noticed", "change nothing", "survived", "noticed (%)")


def page(rows: list[dict[str, str]]) -> str:
    """Return the page in Markdown."""
    by_file: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows:
        by_file[row["file"]].append(row)
    table = [_line(name, found) for name, found in by_file.items()]
    table.append(_line("all", rows))
    left = [r for r in rows if _state(r) == "survived"]
    same = [r for r in rows if _state(r) == "change nothing"]
    lines = [
        "# Faults put into the program on purpose",
        "",
        "A copy of the program gets one small fault at a time: an operator, a comparison or a "
        "constant changed, a term or a condition dropped. The tests that guard the file are run "
        "(quick ones only) and should notice. Where a file has more places than were tried, they "
        "were drawn at random. Faults that change nothing that matters are listed with the reason "
        "and not counted. Asked for: at least 90 % noticed.",
        "",
        markdown(COLUMNS, table),
        "## Survivors",
        "",
        *(f"- `{r['file']}`, line {r['line']}: `{_code(r['key'])}`" for r in left),
        "" if left else "None.\n",
        "## Faults that change nothing",
        "",
        *(
            f"- `{r['file']}`, line {r['line']}: `{_code(r['key'])}`. {reason(r['file'], r['key'])}"
            for r in same
        ),
        "",
        f"Made by `python -m tests.mutation.run` and `python -m tests.mutation.table`. {machine()}",
    ]
    return "\n".join(lines) + "\n"


def _state(row: dict[str, str]) -> str:
    if row["outcome"] != SURVIVED:
        return "noticed"
    return "change nothing" if reason(row["file"], row["key"]) else "survived"


def _line(name: str, rows: list[dict[str, str]]) -> dict[str, object]:
    states = [_state(r) for r in rows]
    noticed, same = states.count("noticed"), states.count("change nothing")
    counted = len(rows) - same
    return {
        "file": f"`{name}`" if name != "all" else name,
        "faults": len(rows),
        "noticed": noticed,
        "change nothing": same,
        "survived": states.count("survived"),
        "noticed (%)": round(100 * noticed / counted, 1) if counted else "",
    }


def _code(key: str) -> str:
    return key.replace("`", "'")


def main() -> int:
    """Write the page and print its table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--csv", type=Path, default=KEPT)
    args = parser.parse_args()
    with args.csv.open(newline="", encoding="utf-8") as stream:
        text = page(list(csv.DictReader(stream)))
    args.csv.with_suffix(".md").write_text(text, encoding="utf-8")
    print(text.split("## Survivors")[0])
    return 0


if __name__ == "__main__":
    sys.exit(main())
