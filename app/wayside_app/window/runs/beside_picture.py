"""The picture of the review screen: two glides above, their difference in cents below."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from wayside.physics.passby import FloatArray
from wayside.review.aligned import Aligned
from wayside_app.window.pages.picture import Axes, Picture
from wayside_app.window.runs.beside import Beside
from wayside_app.window.theme.looks import Look, blend

_ABOVE_SHARE = 0.56
_LEAST_CENTS = 6.0
_DASH, _DOT = (14.0, 7.0), (3.0, 6.0)


class BesidePicture(Picture):
    """Colour says who speaks: the sound blue, the hand orange; a second sound is ink and dotted."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", 10.0, parent)
        self.setAccessibleName(self.tr("Two glides set over each other at the passing"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._shown: Beside | None = None

    def set_look(self, look: Look, points: float) -> None:
        """Take the colours and the text size; the height is the room there is."""
        super().set_look(look, points)
        self.setMinimumHeight(round(16 * self.metrics().height()))
        self.setMaximumHeight(16_777_215)

    def show_beside(self, shown: Beside) -> None:
        """Show two glides."""
        self._shown = shown
        self.setAccessibleDescription(shown.sentence)
        self.update()

    def paint(self, painter: QPainter) -> None:
        if self._shown is None or self._shown.aligned is None:
            return
        a = self._shown.aligned
        line = self.metrics().height()
        left = self.metrics().horizontalAdvance("−0000.0") + 14
        right, top = 16.0, 1.5 * line
        room = self.height() - top - 4.4 * line
        width = self.width() - left - right
        x = (float(a.times_s[0]), float(a.times_s[-1]))
        above = Axes(QRectF(left, top, width, _ABOVE_SHARE * room), x, _pitch_range(a))
        low = above.frame.bottom() + 2.0 * line
        height = self.height() - low - 2.6 * line
        below = Axes(QRectF(left, low, width, height), x, _cents_range(a))
        self._glides(painter, above, a)
        self._difference(painter, below, a)

    def _glides(self, painter: QPainter, axes: Axes, a: Aligned) -> None:
        assert self._shown is not None
        self._passing(painter, axes)
        self.side_axis(painter, axes, self.tr("pitch (Hz)"))
        colour, dash = self._second_pen()
        painter.save()
        painter.setClipRect(axes.frame.adjusted(0, -2, 0, 2))
        painter.setPen(self.pen(self.look.sound, self._thick))
        painter.drawPolyline(_curve(axes, a.times_s, a.first_hz))
        painter.setPen(self.pen(colour, self._thick, dash))
        painter.drawPolyline(_curve(axes, a.times_s, a.second_hz))
        painter.restore()
        self._legend(painter, axes, colour, dash)

    def _legend(self, painter: QPainter, axes: Axes, colour: str, dash: tuple[float, ...]) -> None:
        """Name the curves at the upper right, where a falling glide leaves room."""
        assert self._shown is not None
        line = self.metrics().height()
        painter.setFont(self.text_font(1.0, bold=True))
        y = axes.frame.top() + 1.0 * line
        entries = (
            (self._shown.first, self.look.sound, ()),
            (self._shown.second, colour, dash),
        )
        room = 0.5 * axes.frame.width()
        for name, ink, pattern in entries:
            text = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideMiddle, round(room))
            box = self.write(painter, axes.frame.right() - 4, y, text, ink, side=1, backing=True)
            painter.setPen(self.pen(ink, self._thick, pattern))
            middle = box.center().y()
            painter.drawLine(QPointF(box.left() - 62, middle), QPointF(box.left() - 12, middle))
            y += 1.25 * line
        painter.setFont(self.text_font())

    def _difference(self, painter: QPainter, axes: Axes, a: Aligned) -> None:
        band = QColor(blend(self.look.card, self.look.text, 0.16))
        high = _curve(axes, a.times_s, a.cents + 2.0 * a.u_cents)
        low = _curve(axes, a.times_s, a.cents - 2.0 * a.u_cents)
        outline = QPolygonF([*high.toList(), *reversed(low.toList())])
        painter.save()
        painter.setClipRect(axes.frame)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(band)
        painter.drawPolygon(outline)
        painter.setBrush(QColor(self.look.sound))
        for x, y in zip(a.frames_s, a.frames_cents, strict=True):
            if np.isfinite(y):
                painter.drawEllipse(axes.at(float(x), float(y)), 2.2, 2.2)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.restore()
        self._passing(painter, axes)
        zero = axes.at_y(0.0)
        painter.setPen(self.pen(self._second_pen()[0], 2.0, self._second_pen()[1]))
        painter.drawLine(QPointF(axes.frame.left(), zero), QPointF(axes.frame.right(), zero))
        painter.save()
        painter.setClipRect(axes.frame)
        painter.setPen(self.pen(self.look.text, 3.0))
        painter.drawPolyline(_curve(axes, a.times_s, a.cents))
        painter.restore()
        self.side_axis(painter, axes, self.tr("difference (cents), band: twice its uncertainty"))
        self.lower_axis(painter, axes, self.tr("time from the passing (s)"))

    def _passing(self, painter: QPainter, axes: Axes) -> None:
        if axes.x[0] < 0.0 < axes.x[1]:
            painter.setPen(self.pen(self.look.rule, 1.0))
            x = axes.at_x(0.0)
            painter.drawLine(QPointF(x, axes.frame.top()), QPointF(x, axes.frame.bottom()))

    @property
    def _thick(self) -> float:
        """Width of the curves, for the last row of the class."""
        return max(3.0, self.height() / 160.0)

    def _second_pen(self) -> tuple[str, tuple[float, ...]]:
        by_hand = self._shown is not None and self._shown.by_hand
        return (self.look.hand, _DASH) if by_hand else (self.look.text, _DOT)


def _curve(axes: Axes, times: FloatArray, values: FloatArray) -> QPolygonF:
    return QPolygonF([axes.at(float(t), float(v)) for t, v in zip(times, values, strict=True)])


def _pitch_range(a: Aligned) -> tuple[float, float]:
    both = np.concatenate([a.first_hz, a.second_hz])
    low, high = float(np.min(both)), float(np.max(both))
    room = max(0.08 * (high - low), 1.0)
    return low - room, high + room


def _cents_range(a: Aligned) -> tuple[float, float]:
    """Return a range that holds the curve, its band where that is not endless, and zero."""
    spread = np.minimum(2.0 * a.u_cents, 3.0 * np.median(2.0 * a.u_cents) + _LEAST_CENTS)
    low = min(float(np.min(a.cents - spread)), 0.0, -_LEAST_CENTS)
    high = max(float(np.max(a.cents + spread)), 0.0, _LEAST_CENTS)
    room = 0.06 * (high - low)
    return low - room, high + room
