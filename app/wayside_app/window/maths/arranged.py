"""Lines of a worked step as placed boxes: aligned at their equals signs, within a given width."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wayside.maths.parse import Row, Text, before_relation, parse
from wayside_app.window.maths.boxes import Box, Line, Typesetter, broken

_LEAST_SCALE = 0.72
_SHRINK = 0.92
_GAP_EMS = 0.42

Rows = Sequence[tuple[Row, Row]]
"""Left and right side of every line."""


@dataclass(frozen=True)
class Placed:
    """A box and where its left end and baseline lie."""

    box: Box
    x: float
    y: float
    result: bool


def read_lines(latex: Sequence[str], plain: Sequence[str]) -> list[tuple[Row, Row]]:
    """Return the sides of lines of LaTeX; the plain text stands in for what cannot be read."""
    rows = []
    for line, text in zip(latex, plain, strict=True):
        try:
            row = parse(line)
        except ValueError:
            row = Row((Text(text),))
        rows.append(before_relation(row))
    return rows


def arranged(
    rows: Rows, points: float, room: float, bold_last: bool = True
) -> tuple[list[Placed], float, float]:
    """Return the boxes for a width, and the width and height they take.

    What is too wide shrinks a little, then breaks. The last line is the result.

    Parameters
    ----------
    rows : sequence of (Row, Row)
    points : float
        Text size.
    room : float
        Width (pixels).
    bold_last : bool
        Whether the last line is set bold.
    """
    scale = 1.0
    while scale * _SHRINK >= _LEAST_SCALE and _widest(rows, points * scale, bold_last) > room:
        scale *= _SHRINK
    plain, bold = _setters(points * scale, bold_last)
    em = plain.em()
    lefts = [plain.line(left) for left, _ in rows]
    indent = min(max((box.width for box in lefts), default=0.0), 0.4 * room)
    placed: list[Placed] = []
    y, widest, shown = 0.0, 0.0, None
    for at, (left, right) in enumerate(rows):
        last = at == len(rows) - 1
        setter = bold if last else plain
        pieces = broken(setter.line(right), max(room - indent, 1.0))
        head = None if left == shown else lefts[at]
        shown = left
        for k, piece in enumerate(pieces):
            first = [head] if head is not None and k == 0 else []
            ascent = max(b.ascent for b in (piece, *first))
            y += max(ascent, 0.75 * em)
            placed += [Placed(box, indent - box.width, y, last) for box in first]
            shift = indent + (1.4 * em if k else 0.0)
            placed.append(Placed(piece, shift, y, last))
            widest = max(widest, shift + piece.width)
            y += max(max(b.descent for b in (piece, *first)), 0.2 * em) + _GAP_EMS * em
    return placed, widest, y


def _widest(rows: Rows, points: float, bold_last: bool) -> float:
    """Return the width of the longest line if none were broken."""
    plain, bold = _setters(points, bold_last)
    left = max((plain.line(row).width for row, _ in rows), default=0.0)
    rights: list[Line] = [
        (bold if at == len(rows) - 1 else plain).line(row) for at, (_, row) in enumerate(rows)
    ]
    return left + max((line.width for line in rights), default=0.0)


def _setters(points: float, bold_last: bool) -> tuple[Typesetter, Typesetter]:
    return Typesetter(points), Typesetter(points, bold=bold_last)
