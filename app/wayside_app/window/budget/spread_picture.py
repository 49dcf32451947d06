"""One result's spread as a picture: the bell of linear propagation over the sampled bars."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPolygonF
from PySide6.QtWidgets import QWidget

from wayside.hand.monte_carlo import Sampled
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.pages.picture import Axes, Picture
from wayside_app.window.theme.looks import blend
from wayside_app.window.words import said

_CURVE_POINTS = 121


class SpreadPicture(Picture):
    """Bars: sampled. Line: linear. The two 95 % intervals stand below as bars of their own."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", 13.0, parent)
        self.setAccessibleName(self.tr("Spread of the result, linear and sampled"))
        self._result: Quantity | None = None
        self._sampled: Sampled | None = None

    def show_spread(self, result: Quantity, sampled: Sampled) -> None:
        """Show one result."""
        self._result, self._sampled = result, sampled
        place = Quantity(0.0, sampled.u, "")
        low, high = (figures.number(x, place) for x in (sampled.low, sampled.high))
        llow, lhigh = (figures.number(x, place) for x in (sampled.linear_low, sampled.linear_high))
        self.describe(
            self.tr(
                "Histogram of the sampled {what} with the bell curve of linear propagation; 95 % "
                "of the draws lie from {low} to {high} {unit}, linear propagation says {llow} to "
                "{lhigh} {unit}."
            ).format(
                what=said(sampled.label),
                low=low,
                high=high,
                llow=llow,
                lhigh=lhigh,
                unit=sampled.unit,
            )
        )

    def paint(self, painter: QPainter) -> None:
        s, q = self._sampled, self._result
        if s is None or q is None or not s.edges or not q.u:
            return
        line = self.metrics().height()
        frame = QRectF(10, 0.4 * line, self.width() - 20, self.height() - 5.6 * line)
        reach = 3.3 * q.u
        axes = Axes(
            frame,
            (min(s.edges[0], q.value - reach), max(s.edges[-1], q.value + reach)),
            (0.0, 1.08 * max(max(s.density), 1.0 / (q.u * math.sqrt(2.0 * math.pi)))),
        )
        self._bars(painter, axes, s)
        self._bell(painter, axes, q)
        below = frame.bottom()
        self._interval(painter, axes, below + 0.75 * line, s.linear_low, s.linear_high, True)
        self._interval(painter, axes, below + 1.75 * line, s.low, s.high, False)
        floor = Axes(frame.translated(0, 2.5 * line), axes.x, axes.y)
        self.lower_axis(painter, floor, f"{said(s.label)} ({s.unit})")

    def _bars(self, painter: QPainter, axes: Axes, s: Sampled) -> None:
        colour = QColor(blend(self.look.card, self.look.hand, 0.45))
        for left, right, height in zip(s.edges, s.edges[1:], s.density, strict=False):
            top = axes.at(left, height)
            bar = QRectF(
                top.x(), top.y(), axes.at_x(right) - top.x() - 0.6, axes.frame.bottom() - top.y()
            )
            painter.fillRect(bar, colour)

    def _bell(self, painter: QPainter, axes: Axes, q: Quantity) -> None:
        points = []
        for k in range(_CURVE_POINTS):
            x = axes.x[0] + (axes.x[1] - axes.x[0]) * k / (_CURVE_POINTS - 1)
            y = math.exp(-0.5 * ((x - q.value) / q.u) ** 2) / (q.u * math.sqrt(2.0 * math.pi))
            points.append(axes.at(x, y))
        painter.setPen(self.pen(self.look.text, 2.0))
        painter.drawPolyline(QPolygonF(points))

    def _interval(
        self, painter: QPainter, axes: Axes, y: float, low: float, high: float, linear: bool
    ) -> None:
        left, right = axes.at_x(low), axes.at_x(high)
        colour = self.look.text if linear else self.look.hand
        painter.setPen(self.pen(colour, 2.5 if linear else 5.0))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        name = self.tr("linear, 95 %") if linear else self.tr("sampled, 95 %")
        down = y + 0.32 * self.metrics().height()
        width = self.metrics().horizontalAdvance(name)
        if right + 8 + width < axes.frame.right():
            self.write(painter, right + 8, down, name, colour)
        else:
            self.write(painter, left - 8, down, name, colour, side=1)
