"""A widget that shows lines of a worked step, aligned at their equals signs."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wayside.maths.parse import Row
from wayside_app.window.maths.arranged import Placed, arranged, read_lines
from wayside_app.window.maths.boxes import whole


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
        self._rows = read_lines(latex, plain)
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
        placed, width, height = arranged(self._rows, self._points, room)
        return placed, QSize(whole(width), whole(height))
