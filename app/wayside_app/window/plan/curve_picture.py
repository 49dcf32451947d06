"""The pitch to expect over time, at the slowest, middle and fastest speed."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPolygonF
from PySide6.QtWidgets import QWidget

from wayside.plan.result import Plan, SpeedCase
from wayside_app.window import figures
from wayside_app.window.pages.picture import Axes, Picture
from wayside_app.window.theme.looks import blend


class CurvePicture(Picture):
    """Pitch against time from the passing; the middle speed bold, its reading windows shaded."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", 14.5, parent)
        self.setAccessibleName(self.tr("Expected pitch curve"))
        self._plan: Plan | None = None
        self._cents = False

    def show_plan(self, plan: Plan | None) -> None:
        """Show a plan; none leaves the picture empty."""
        self._plan = plan
        if plan is None:
            self.describe(self.tr("No plan yet."))
            return
        case = _middle(plan)
        self.describe(
            self.tr(
                "Expected pitch at {v} m/s: from {high} Hz down to {low} Hz, most of it within "
                "{glide} s of the passing."
            ).format(
                v=figures.general(case.passby.speed_mps, 3),
                high=figures.plain(case.passby.approach_hz, 1),
                low=figures.plain(case.passby.recede_hz, 1),
                glide=figures.plain(case.glide_s, 2),
            )
        )

    def paint(self, painter: QPainter) -> None:
        if self._plan is None:
            return
        plan, case = self._plan, _middle(self._plan)
        line = self.metrics().height()
        left = self.metrics().horizontalAdvance("00000.0") + 10
        frame = QRectF(left, 1.5 * line, self.width() - left - 14, self.height() - 4.2 * line)
        curves = [c for c in plan.cases if c is not case] + [case]
        self._cents = not all(_like(c, case) for c in curves)
        high = max(self._level(c.passby.approach_hz, c) for c in curves)
        low = min(self._level(c.passby.recede_hz, c) for c in curves)
        pad = 0.12 * (high - low)
        axes = Axes(
            frame, (float(case.times_s[0]), float(case.times_s[-1])), (low - pad, high + pad)
        )
        self._shade(painter, axes, case)
        self._limits(painter, axes, case)
        for c in curves:
            self._curve(painter, axes, c, case.passby.speed_mps)
        self.lower_axis(painter, axes, self.tr("time from the passing (s)"))
        cents = self.tr("pitch (cents from the source's pitch, which follows the speed)")
        self.side_axis(painter, axes, cents if self._cents else self.tr("pitch (Hz)"))

    def _level(self, hz: float, case: SpeedCase) -> float:
        """Return how high a pitch is drawn: in Hz, or in cents where the sources differ."""
        return 1200.0 * math.log2(hz / case.passby.source_hz) if self._cents else hz

    def _shade(self, painter: QPainter, axes: Axes, case: SpeedCase) -> None:
        wash = QColor(blend(self.look.card, self.look.sound, 0.16))
        for window in (case.approach, case.recede):
            if window is not None:
                left, right = axes.at_x(window.start_s), axes.at_x(window.stop_s)
                box = QRectF(left, axes.frame.top(), right - left, axes.frame.height())
                painter.fillRect(box.intersected(axes.frame), wash)

    def _limits(self, painter: QPainter, axes: Axes, case: SpeedCase) -> None:
        p = case.passby
        frame, ascent = axes.frame, self.metrics().ascent()
        for hz, words, side, down in (
            (p.approach_hz, self.tr("approach {hz} Hz"), 1, -4.0),
            (p.source_hz, self.tr("source {hz} Hz"), 1, -4.0),
            (p.recede_hz, self.tr("recede {hz} Hz"), -1, ascent + 2.0),
        ):
            y = axes.at_y(self._level(hz, case))
            painter.setPen(self.pen(self.look.quiet, 1.0, (5.0, 4.0)))
            painter.drawLine(QPointF(frame.left(), y), QPointF(frame.right(), y))
            text = words.format(hz=figures.plain(hz, 1))
            x = frame.right() - 6 if side > 0 else frame.left() + 6
            self.write(painter, x, y + down, text, self.look.hand, side)

    def _curve(self, painter: QPainter, axes: Axes, case: SpeedCase, middle_mps: float) -> None:
        start, stop = axes.x
        bold = case.passby.speed_mps == middle_mps
        points = [
            axes.at(float(t), self._level(float(f), case))
            for t, f in zip(case.times_s, case.pitch_hz, strict=True)
            if start <= t <= stop
        ]
        dash = () if bold else (7.0, 5.0)
        painter.setPen(self.pen(self.look.hand, 3.0 if bold else 1.3, dash))
        painter.drawPolyline(QPolygonF(points))
        if not bold and points:
            text = self.tr("{v} m/s").format(v=figures.general(case.passby.speed_mps, 3))
            # a slower curve starts below the bold one: its name goes below it, clear of that
            slower = case.passby.speed_mps < middle_mps
            down = self.metrics().ascent() + 2.0 if slower else -4.0
            self.write(painter, points[0].x() + 6, points[0].y() + down, text, self.look.hand)


def _middle(plan: Plan) -> SpeedCase:
    return plan.cases[len(plan.cases) // 2]


def _like(case: SpeedCase, other: SpeedCase) -> bool:
    """Tell whether two sources sound the same pitch; a wheel's follows its speed."""
    return abs(case.passby.source_hz / other.passby.source_hz - 1.0) < 0.01
