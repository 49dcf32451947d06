"""How much too small the speed comes out when the pitches are read near the microphone."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QPainter, QPolygonF
from PySide6.QtWidgets import QWidget

from wayside.hand.methods import NearReading
from wayside_app.window import figures
from wayside_app.window.pages.picture import Axes, Picture


class NearPicture(Picture):
    """Error of the speed against the distance at which the pitches are read."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", 11.0, parent)
        self.setAccessibleName(self.tr("Error of the speed when the pitches are read nearby"))
        self._curve: Sequence[NearReading] = ()
        self._marks: Sequence[NearReading] = ()

    def show_readings(self, curve: Sequence[NearReading], marks: Sequence[NearReading]) -> None:
        """Show a fine curve and the readings that stand in the table."""
        self._curve, self._marks = curve, marks
        near, far = marks[0], marks[-1]
        self.describe(
            self.tr(
                "Curve of the speed's error: {near} % when the pitches are read {close} m before "
                "and after the microphone, {far} % at {away} m."
            ).format(
                near=figures.signed(near.speed_percent, 1),
                close=figures.plain(near.position_m, 1),
                far=figures.signed(far.speed_percent, 1),
                away=figures.plain(far.position_m, 1),
            )
        )

    def paint(self, painter: QPainter) -> None:
        if len(self._curve) < 2:
            return
        metrics = self.metrics()
        line = metrics.height()
        left = metrics.horizontalAdvance("−100") + 14
        frame = QRectF(left, 1.6 * line, self.width() - left - 12, self.height() - 4.2 * line)
        lowest = min(r.speed_percent for r in self._curve)
        axes = Axes(frame, (0.0, self._curve[-1].position_m), (min(1.08 * lowest, -1.0), 0.0))
        painter.setPen(self.pen(self.look.quiet, 1.0, (5.0, 4.0)))
        painter.drawLine(frame.topLeft(), frame.topRight())
        painter.setPen(self.pen(self.look.hand, 2.5))
        points = [axes.at(r.position_m, r.speed_percent) for r in self._curve]
        painter.drawPolyline(QPolygonF(points))
        for r in self._marks:
            at = axes.at(r.position_m, r.speed_percent)
            painter.setPen(self.pen(self.look.card, 1.5))
            painter.setBrush(QColor(self.look.hand))
            painter.drawEllipse(at, 5.0, 5.0)
            percent = self.tr("{percent} %").format(percent=figures.signed(r.speed_percent, 1))
            end = at.x() > frame.right() - 40
            x, side = (at.x(), 1) if end else (at.x() + 6, -1)
            self.write(painter, x, at.y() + 1.3 * line, percent, side=side)
        self.lower_axis(
            painter, axes, self.tr("pitches read so far before and after the microphone (m)")
        )
        self.side_axis(painter, axes, self.tr("error of the speed (%)"))
