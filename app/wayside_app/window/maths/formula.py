"""A widget that shows lines of a worked step, aligned at their equals signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wayside.maths.parse import Row, Text, before_relation, parse
from wayside_app.window.maths.boxes import Box, Line, Typesetter, broken, whole

_LEAST_SCALE = 0.72
_SHRINK = 0.92
_GAP_EMS = 0.42


@dataclass(frozen=True)
class Placed:
    """A box and where its left end and baseline lie."""

    box: Box
    x: float
    y: float
    result: bool


class FormulaView(QWidget):
    """Shows formulas; what it shows as text is its accessible description.

    The lines are aligned at their first equals sign; a left side that repeats is written once.
    The last line is the result.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[str, ...] = ()
        self._rows: list[tuple[Row, Row]] = []
        self._points = 12.0
        self._text = QColor("#000000")
        self._result = QColor("#000000")
        self._placed: list[Placed] = []
        self._size = QSize(10, 10)
        self._known: dict[int, tuple[list[Placed], QSize]] = {}
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def set_look(self, text: str, result: str, points: float) -> None:
        """Take colours and text size."""
        self._text, self._result, self._points = QColor(text), QColor(result), points
        self._known.clear()
        self._arrange()

    def show_lines(self, latex: Sequence[str], plain: Sequence[str]) -> None:
        """Show lines of LaTeX.

        Parameters
        ----------
        latex : sequence of str
        plain : sequence of str
            The same as plain text, for people who do not see it and for what cannot be read.
        """
        self.setAccessibleDescription("; ".join(plain))
        if tuple(latex) == self._lines:
            return
        self._lines = tuple(latex)
        self._rows = []
        for line, text in zip(latex, plain, strict=True):
            try:
                row = parse(line)
            except ValueError:
                row = Row((Text(text),))
            self._rows.append(before_relation(row))
        self._known.clear()
        self._arrange()

    @property
    def latex(self) -> tuple[str, ...]:
        """The lines shown."""
        return self._lines

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._at(width)[1].height()

    def sizeHint(self) -> QSize:
        return self._size

    def minimumSizeHint(self) -> QSize:
        return QSize(60, self._size.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for item in self._placed:
            painter.setPen(self._result if item.result else self._text)
            item.box.draw(painter, item.x, item.y)
        painter.end()

    def _arrange(self) -> None:
        old = self._size.height()
        self._placed, self._size = self._at(self.width())
        if self._size.height() != old:
            self.updateGeometry()
        self.update()

    def _at(self, room: int) -> tuple[list[Placed], QSize]:
        if room not in self._known:
            self._known[room] = self._place(room)
        return self._known[room]

    def _place(self, room: int) -> tuple[list[Placed], QSize]:
        """Return the boxes for a width; what is too wide shrinks a little, then breaks."""
        scale = 1.0
        while scale * _SHRINK >= _LEAST_SCALE and self._widest(scale) > room:
            scale *= _SHRINK
        plain, bold = self._setters(scale)
        em = plain.em()
        lefts = [plain.line(left) for left, _ in self._rows]
        indent = min(max((box.width for box in lefts), default=0.0), 0.4 * room)
        placed: list[Placed] = []
        y, widest, shown = 0.0, 0.0, None
        for at, (left, right) in enumerate(self._rows):
            last = at == len(self._rows) - 1
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
        return placed, QSize(whole(widest), whole(y))

    def _widest(self, scale: float) -> float:
        """Return the width of the longest line if none were broken."""
        plain, bold = self._setters(scale)
        left = max((plain.line(row).width for row, _ in self._rows), default=0.0)
        rights: list[Line] = [
            (bold if at == len(self._rows) - 1 else plain).line(row)
            for at, (_, row) in enumerate(self._rows)
        ]
        return left + max((line.width for line in rights), default=0.0)

    def _setters(self, scale: float) -> tuple[Typesetter, Typesetter]:
        return Typesetter(self._points * scale), Typesetter(self._points * scale, bold=True)
