"""A painted picture on a sheet: axes from the look, one sentence for who does not see it."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from wayside_app.window.pages.ticks import ticks
from wayside_app.window.plain_text import plain_tip
from wayside_app.window.theme.looks import LIGHT, Look

_TICK_PX = 5.0


@dataclass(frozen=True)
class Axes:
    """A frame in pixels and what it stands for.

    Parameters
    ----------
    frame : QRectF
    x, y : (float, float)
        Values at left and right, bottom and top.
    """

    frame: QRectF
    x: tuple[float, float]
    y: tuple[float, float]

    def at_x(self, value: float) -> float:
        """Return the pixel of a value on the lower axis."""
        share = (value - self.x[0]) / (self.x[1] - self.x[0])
        return self.frame.left() + share * self.frame.width()

    def at_y(self, value: float) -> float:
        """Return the pixel of a value on the side axis."""
        share = (value - self.y[0]) / (self.y[1] - self.y[0])
        return self.frame.bottom() - share * self.frame.height()

    def at(self, x: float, y: float) -> QPointF:
        """Return the pixel of a point."""
        return QPointF(self.at_x(x), self.at_y(y))


class Picture(QWidget):
    """Base of the pictures: `paint` draws with a painter whose font and pen are set."""

    def __init__(self, name: str, lines: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.look: Look = LIGHT
        self.points = 10.0
        self._lines = lines
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.set_look(LIGHT, 10.0)

    def set_look(self, look: Look, points: float) -> None:
        """Take the colours and the text size."""
        self.look, self.points = look, points
        self.setFixedHeight(round(self._lines * self.metrics().height()))
        self.update()

    def describe(self, sentence: str) -> None:
        """Take the sentence that says what is to be seen, and draw anew."""
        self.setAccessibleDescription(sentence)
        self.setToolTip(plain_tip(sentence))
        self.update()

    def text_font(self, scale: float = 0.92, bold: bool = False) -> QFont:
        """Return the font of labels."""
        font = QFont(self.font())
        font.setPointSizeF(self.points * scale)
        font.setBold(bold)
        return font

    def metrics(self) -> QFontMetricsF:
        """Return the measures of the labels' font."""
        return QFontMetricsF(self.text_font())

    def minimumSizeHint(self) -> QSize:
        return QSize(120, self.height())

    def paint(self, painter: QPainter) -> None:
        """Draw the picture."""

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self.text_font())
        painter.setPen(QColor(self.look.text))
        self.paint(painter)
        painter.end()

    # --- parts the pictures share ---------------------------------------------------------

    def pen(self, colour: str, width: float = 1.0, dash: tuple[float, ...] = ()) -> QPen:
        """Return a pen; dashes are in pixels."""
        pen = QPen(QColor(colour), width)
        if dash:
            pen.setDashPattern([part / width for part in dash])
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        return pen

    def write(
        self,
        painter: QPainter,
        x: float,
        y: float,
        text: str,
        colour: str = "",
        side: int = -1,
        backing: bool = False,
    ) -> QRectF:
        """Write text with its baseline at `y`: side -1 right of `x`, 0 centred, 1 left of it."""
        metrics = QFontMetricsF(painter.font())
        width = metrics.horizontalAdvance(text)
        left = x - 0.5 * width * (side + 1)
        box = QRectF(left, y - metrics.ascent(), width, metrics.height())
        if backing:
            painter.fillRect(box.adjusted(-3, 0, 3, 0), QColor(self.look.card))
        painter.setPen(QColor(colour or self.look.text))
        painter.drawText(QPointF(left, y), text)
        return box

    def lower_axis(self, painter: QPainter, axes: Axes, title: str) -> None:
        """Draw the axis below with its marks and title."""
        frame, metrics = axes.frame, self.metrics()
        painter.setPen(self.pen(self.look.quiet))
        painter.drawLine(frame.bottomLeft(), frame.bottomRight())
        room = metrics.horizontalAdvance("−000.0") * 1.3
        for value, text in ticks(*axes.x, about=max(2, int(frame.width() // room))):
            x = axes.at_x(value)
            painter.setPen(self.pen(self.look.quiet))
            painter.drawLine(QPointF(x, frame.bottom()), QPointF(x, frame.bottom() + _TICK_PX))
            self.write(painter, x, frame.bottom() + _TICK_PX + metrics.ascent() + 1, text, side=0)
        low = frame.bottom() + _TICK_PX + metrics.ascent() + metrics.height()
        self.write(painter, frame.center().x(), low, title, self.look.quiet, side=0)

    def side_axis(self, painter: QPainter, axes: Axes, title: str) -> None:
        """Draw the axis at the left with its marks; the title stands above it."""
        frame, metrics = axes.frame, self.metrics()
        painter.setPen(self.pen(self.look.quiet))
        painter.drawLine(frame.bottomLeft(), frame.topLeft())
        about = max(2, int(frame.height() // (2.4 * metrics.height())))
        for value, text in ticks(*axes.y, about=about):
            y = axes.at_y(value)
            painter.setPen(self.pen(self.look.quiet))
            painter.drawLine(QPointF(frame.left() - _TICK_PX, y), QPointF(frame.left(), y))
            self.write(
                painter, frame.left() - _TICK_PX - 3, y + 0.35 * metrics.ascent(), text, side=1
            )
        top = frame.top() - 0.5 * metrics.height()
        self.write(painter, 0.0, top, title, self.look.quiet)
