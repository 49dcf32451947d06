"""Draws what lies over the picture: marker lines, rings, the ruler.

The hand's orange, dashed, on a rim of the paper's colour, so that it is seen on any picture.
"""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from wayside.film.geometry import Point
from wayside_app.window.film.view_map import ViewMap
from wayside_app.window.theme.looks import Look

HANDLE_PX = 6.0
RING_PX = 13.0
_RIM_PX = 1.5
_FLAG_PX = 5.0


@dataclass(frozen=True)
class Ink:
    """Painter, colours and map of one redraw."""

    painter: QPainter
    look: Look
    font: QFont
    map: ViewMap

    def at(self, point: Point) -> QPointF:
        """Return where a point of the film lies in the view."""
        return QPointF(*self.map.to_view(point))


def draw_line(
    ink: Ink, start: Point, stop: Point, *, picked: bool, proposed: bool, dashed: bool = True
) -> None:
    """Draw a marker line; thicker when picked, dotted while a crossing is only proposed."""
    a, b = ink.at(start), ink.at(stop)
    width = 2.2 if picked else 1.6
    dashes = (2.5, 5.0) if proposed else (10.0, 7.0)
    for colour, thick in ((ink.look.paper, width + 2 * _RIM_PX), (ink.look.hand, width)):
        pen = QPen(QColor(colour), thick)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if dashed:
            # the marker itself shows through the gaps
            pen.setDashPattern([length / thick for length in dashes])
        ink.painter.setPen(pen)
        ink.painter.drawLine(a, b)


def draw_handle(ink: Ink, point: Point, *, filled: bool) -> None:
    """Draw the end of a line as something to take hold of."""
    ink.painter.setPen(QPen(QColor(ink.look.paper), 1.5))
    ink.painter.setBrush(QColor(ink.look.hand if filled else ink.look.paper))
    ink.painter.drawEllipse(ink.at(point), HANDLE_PX, HANDLE_PX)
    ink.painter.setBrush(Qt.BrushStyle.NoBrush)
    ink.painter.setPen(QPen(QColor(ink.look.hand), 1.8))
    ink.painter.drawEllipse(ink.at(point), HANDLE_PX - 1, HANDLE_PX - 1)


def draw_flag(ink: Ink, point: Point, text: str, *, picked: bool) -> None:
    """Draw a marker's number above the upper end of its line."""
    metrics = QFontMetricsF(ink.font)
    size = metrics.size(Qt.TextFlag.TextSingleLine, text)
    tip = ink.at(point)
    box = QRectF(0, 0, size.width() + 2 * _FLAG_PX, size.height() + 2)
    box.moveCenter(QPointF(tip.x(), tip.y() - box.height() / 2 - HANDLE_PX - 2))
    if box.top() < 2:
        box.moveTop(2)
    front, back = (ink.look.paper, ink.look.hand) if picked else (ink.look.hand, ink.look.paper)
    ink.painter.setPen(QPen(QColor(ink.look.hand), 1.5))
    ink.painter.setBrush(QColor(back))
    ink.painter.drawRoundedRect(box, 4, 4)
    ink.painter.setFont(ink.font)
    ink.painter.setPen(QColor(front))
    ink.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    ink.painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_ring(ink: Ink, point: Point, *, faint: bool, unset: bool) -> None:
    """Draw where the watched point is; dashed until it is set, faint from the other frame."""
    centre = ink.at(point)
    colour = QColor(ink.look.hand)
    rim = QColor(ink.look.paper)
    if faint:
        colour.setAlpha(150)
        rim.setAlpha(120)
    for width, shade in ((2.0 + 2 * _RIM_PX, rim), (2.0, colour)):
        pen = QPen(shade, width)
        if unset and shade is colour:
            pen.setDashPattern([2.5, 2.0])
        ink.painter.setPen(pen)
        ink.painter.drawEllipse(centre, RING_PX, RING_PX)
        if faint:
            continue
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            inner, outer = 4.0, RING_PX + 5.0
            ink.painter.drawLine(
                QPointF(centre.x() + dx * inner, centre.y() + dy * inner),
                QPointF(centre.x() + dx * outer, centre.y() + dy * outer),
            )


def draw_ruler(ink: Ink, start: Point, stop: Point, text: str) -> None:
    """Draw a known length with its value."""
    draw_line(ink, start, stop, picked=False, proposed=False, dashed=False)
    for end in (start, stop):
        draw_handle(ink, end, filled=False)
    if not text:
        return
    a, b = ink.at(start), ink.at(stop)
    middle = QPointF((a.x() + b.x()) / 2, (a.y() + b.y()) / 2)
    box = QFontMetricsF(ink.font).boundingRect(text).adjusted(-4, -1, 4, 1)
    box.moveCenter(QPointF(middle.x(), middle.y() - box.height() / 2 - 6))
    ink.painter.setPen(Qt.PenStyle.NoPen)
    ink.painter.setBrush(QColor(ink.look.paper))
    ink.painter.drawRoundedRect(box, 3, 3)
    ink.painter.setBrush(Qt.BrushStyle.NoBrush)
    ink.painter.setFont(ink.font)
    ink.painter.setPen(QColor(ink.look.hand))
    ink.painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
