"""The one place where what the core says enters the window: it comes out in the user's language."""

from __future__ import annotations

import re

from wayside_app.window.language.dictionary import current

_NUMBERED = re.compile(r"\d+\. ")


def said(text: str) -> str:
    """Return a label, hint or sentence of the core in the user's language."""
    return current().sentence(text)


def said_columns(text: str) -> str:
    """Return a report made for a monospaced page, line by line and column by column."""
    return "\n".join(_said_line(line) for line in text.split("\n"))


def _said_line(line: str) -> str:
    indent = len(line) - len(line.lstrip())
    pieces: list[str] = []
    rest = line.strip()
    while rest:
        cell, gap, rest = rest.partition("  ")
        wide = len(cell) + len(gap) + len(rest) - len(rest.lstrip())
        rest = rest.lstrip()
        told = _said_cell(cell)
        pieces.append(told.ljust(wide) if rest and len(told) < wide else told + "  " * bool(rest))
    return " " * indent + "".join(pieces)


def _said_cell(cell: str) -> str:
    """Return a cell: a number before, brackets around or a symbol behind it stay."""
    before, words, after = "", cell, ""
    if cell.startswith("(") and cell.endswith(")"):
        before, words, after = "(", cell[1:-1], ")"
    elif number := _NUMBERED.match(cell):
        before, words = number[0], cell[number.end() :]
    head, _, symbol = words.rpartition(" ")
    if head and not current().knows(words) and current().knows(head):
        return f"{before}{said(head)} {symbol}{after}"
    return f"{before}{said(words)}{after}"
