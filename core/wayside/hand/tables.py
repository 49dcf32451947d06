"""Plain-text tables with aligned columns."""

from __future__ import annotations

from collections.abc import Sequence


def table(rows: Sequence[Sequence[str]], indent: str = "    ") -> list[str]:
    """Return rows as aligned lines: the first column to the left, the others to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return [
        indent
        + "  ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def two_columns(rows: Sequence[tuple[str, str]], indent: str = "    ") -> list[str]:
    """Return name and value, both to the left."""
    width = max(len(name) for name, _ in rows)
    return [f"{indent}{name.ljust(width)}  {value}" for name, value in rows]
