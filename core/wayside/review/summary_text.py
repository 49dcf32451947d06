"""Many runs as plain text: a table with one line a run, and what they say together."""

from __future__ import annotations

from collections.abc import Sequence

from wayside.hand import digits
from wayside.hand.tables import table
from wayside.quantity import Quantity
from wayside.review.row import FAILED, REFUSED, RunRow
from wayside.review.summary import Summary, summary_by_group

_HEAD = ("run", "speed", "source pitch", "approach pitch", "recede pitch", "verdict")
_COLUMNS = ("speed_mps", "source_hz", "approach_hz", "recede_hz")


def summary_as_text(rows: Sequence[RunRow], s: Summary) -> str:
    """Return the table, then the sentences."""
    blocks = ["\n".join(["Measured from the sound (± is one standard uncertainty)", *_table(rows)])]
    blocks.append(_listed("No pass-by found", [r for r in rows if r.outcome == REFUSED]))
    blocks.append(_listed("Could not be measured", [r for r in rows if r.outcome == FAILED]))
    if s.measured > 1:
        blocks.append("\n".join(["All runs together", *(f"  - {t.sentence}" for t in s.means)]))
        differences = [f"  - {t.sentence}" for t in s.differences]
        blocks.append("\n".join(["Against the prediction", *differences]) if differences else "")
        blocks.append("\n".join(["Odd runs", *(f"  - {o.sentence}" for o in s.odd)]))
    for group, one in summary_by_group(rows).items():
        if one.measured > 1:
            title = f"“{group}”" if group else "Outside any group"
            blocks.append("\n".join([title, *(f"  - {t.sentence}" for t in one.means)]))
    pairs = [
        f"  - {p.out} and {p.back}: {p.wind.finding if p.wind else p.sentence}" for p in s.pairs
    ]
    blocks.append("\n".join(["Out and back", *pairs]) if pairs else "")
    return "\n\n".join(b for b in blocks if b)


def _table(rows: Sequence[RunRow]) -> list[str]:
    return table([_HEAD, *(_cells(r) for r in rows)])


def _cells(row: RunRow) -> tuple[str, ...]:
    values = (_text(row.sides(name).measured) for name in _COLUMNS)
    return (row.name, *values, row.overall_words or (row.outcome if row.sentence else ""))


def _text(q: Quantity | None) -> str:
    return "" if q is None else digits.full_text(q)


def _listed(title: str, rows: Sequence[RunRow]) -> str:
    return "\n".join([title, *(f"  - {r.name}: {r.sentence}" for r in rows)]) if rows else ""
