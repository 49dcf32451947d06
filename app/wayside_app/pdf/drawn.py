"""What stands between the lines of text and is drawn: figures, formulas, lines to write on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from PySide6.QtCore import QPointF, QRect, QRectF, QSizeF
from PySide6.QtGui import (
    QColor,
    QPainter,
    QPen,
    QPyTextObject,
    QTextCharFormat,
    QTextDocument,
    QTextFormat,
)
from PySide6.QtSvg import QSvgRenderer

from wayside.report.figures.canvas import INK, Figure
from wayside_app.window.maths.arranged import arranged, read_lines

OBJECT_TYPE = QTextFormat.ObjectTypes.UserObject.value + 1
_NUMBER = QTextFormat.Property.UserProperty.value + 1
_RIM = 3.0
"""Room above and below a formula (pixels), for ink that reaches out of its box."""


class Drawn(Protocol):
    """Something with a size that can paint itself."""

    @property
    def size(self) -> QSizeF:
        """Width and height (pixels)."""
        ...

    def draw(self, painter: QPainter, place: QRectF) -> None:
        """Paint it into a rectangle of its size."""
        ...


class DrawnFigure:
    """A figure, its lines and words kept as such."""

    def __init__(self, figure: Figure, width: float) -> None:
        self._renderer = QSvgRenderer(figure.as_file())
        self.size = QSizeF(width, width * figure.height / figure.width)

    def draw(self, painter: QPainter, place: QRectF) -> None:
        """Paint the figure."""
        self._renderer.render(painter, place)


class DrawnFormula:
    """Lines of a formula."""

    def __init__(
        self,
        latex: Sequence[str],
        plain: Sequence[str],
        points: float,
        room: float,
        bold_last: bool,
    ) -> None:
        rows = read_lines(latex, plain)
        self._placed, width, height = arranged(rows, points, room, bold_last)
        self.size = QSizeF(width + 1.0, height + 2.0 * _RIM)

    def draw(self, painter: QPainter, place: QRectF) -> None:
        """Paint the boxes."""
        painter.setPen(QColor(INK))
        for item in self._placed:
            item.box.draw(painter, place.left() + item.x, place.top() + _RIM + item.y)


class DrawnRule:
    """A line to write on."""

    def __init__(self, width: float, height: float) -> None:
        self.size = QSizeF(width, height)

    def draw(self, painter: QPainter, place: QRectF) -> None:
        """Paint the line at the foot of its place."""
        painter.setPen(QPen(QColor(INK), 0.8))
        y = place.bottom() - 1.0
        painter.drawLine(QPointF(place.left(), y), QPointF(place.right(), y))


class Drawer(QPyTextObject):
    """Hands sizes and painting of numbered things to the text layout."""

    def __init__(self, document: QTextDocument) -> None:
        super().__init__(document)
        self._things: list[Drawn] = []
        document.documentLayout().registerHandler(OBJECT_TYPE, self)

    def place(self, thing: Drawn) -> QTextCharFormat:
        """Return the format of a character that stands for a thing."""
        style = QTextCharFormat()
        style.setObjectType(OBJECT_TYPE)
        style.setProperty(_NUMBER, len(self._things))
        self._things.append(thing)
        return style

    def intrinsicSize(self, doc: QTextDocument, pos: int, fmt: QTextFormat) -> QSizeF:
        return self._thing(fmt).size

    def drawObject(
        self,
        painter: QPainter,
        rect: QRectF | QRect,
        doc: QTextDocument,
        pos: int,
        fmt: QTextFormat,
    ) -> None:
        painter.save()
        self._thing(fmt).draw(painter, QRectF(rect))
        painter.restore()

    def _thing(self, fmt: QTextFormat) -> Drawn:
        return self._things[int(fmt.property(_NUMBER))]
