"""Writes docs/validation/fuzz.md from the kept counts: ``python -m tests.fuzz.table``."""

from __future__ import annotations

import argparse
import csv
import sys
from pathlib import Path

from tests.benchmarks.harness import VALIDATION, machine, markdown
from tests.fuzz.forked import LONGEST_S, MOST_BYTES

WORDS = {
    "setup": "set-up files: read, predicted from, shown, written and read again",
    "session": "session files: read, written and read again",
    "sound": "sound files and films: decoded whole",
    "film": "films: opened, first, middle and last picture",
}
COLUMNS = (
    "files", "cases", "read", "refused in a sentence", "ended badly", "slowest (s)", "memory (MB)",
)  # fmt: skip


def page(rows: list[dict[str, str]]) -> str:
    """Return the page in Markdown."""
    table = []
    for target, words in WORDS.items():
        mine = [r for r in rows if r["target"] == target]
        if mine:
            total = {k: sum(int(r[k]) for r in mine) for k in ("cases", "read", "refused", "bad")}
            table.append(
                {
                    "files": words,
                    "cases": total["cases"],
                    "read": total["read"],
                    "refused in a sentence": total["refused"],
                    "ended badly": total["bad"],
                    "slowest (s)": max(float(r["slowest_s"]) for r in mine),
                    "memory (MB)": max(int(r["largest_mb"]) for r in mine),
                }
            )
    return (
        "# Damaged and hostile files\n\n"
        "Whole files are damaged in one to nine places (bits, bytes, lengths; pieces cut, "
        "repeated, swapped or overwritten; in JSON also values, keys and types) and opened. Each "
        "must end as a result or as one printable line for the user, within "
        f"{LONGEST_S:.0f} s and {MOST_BYTES / 2**30:.0f} GB. For media the decoding child's own "
        "end is looked at too: an exception of Python in it counts as a bad end.\n\n"
        f"{markdown(COLUMNS, table)}\n"
        "The media are small files in twenty formats made by two libraries, and the bundled "
        "samples. 1,900 such files run with the normal tests (`tests/fuzz/test_fuzz.py`), "
        "the same ones every time.\n\n"
        "What was found and put right: control characters and halves of characters in a file, "
        "quoted in an error line or printed with a title; sessions that came back changed for the "
        "same reason; an instrument that was said to be read with another instrument; MPEG "
        "transport streams whose first picture could not be reached.\n\n"
        f"Made by `python -m tests.fuzz.run --csv docs/validation/fuzz.csv` and "
        f"`python -m tests.fuzz.table`. {machine()}\n"
    )


def main() -> int:
    """Write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--csv", type=Path, default=VALIDATION / "fuzz.csv")
    args = parser.parse_args()
    with args.csv.open(newline="", encoding="utf-8") as stream:
        text = page(list(csv.DictReader(stream)))
    args.csv.with_suffix(".md").write_text(text, encoding="utf-8")
    print(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
