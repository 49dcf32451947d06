"""The track from above, to scale: run, markers, microphone, where the pitches can be read."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPolygonF
from PySide6.QtWidgets import QWidget

from wayside.plan.result import Plan, SpeedCase
from wayside_app.window import figures
from wayside_app.window.pages.picture import Picture
from wayside_app.window.pages.ticks import nice_step
from wayside_app.window.theme.looks import blend

_SIDE_PX = 14.0


class TrackPicture(Picture):
    """One scale in both directions."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", 13.0, parent)
        self.setAccessibleName(self.tr("The track from above, to scale"))
        self._plan: Plan | None = None

    def show_plan(self, plan: Plan | None) -> None:
        """Show a plan; none leaves the picture empty."""
        self._plan = plan
        if plan is None:
            self.describe(self.tr("No plan yet."))
            return
        r, o = plan.request, plan.offset
        best = (
            self.tr("no distance serves")
            if o.best_m is None
            else self.tr("best about {best} m").format(best=figures.plain(o.best_m, 1))
        )
        self.describe(
            self.tr(
                "The track from above: {before} m of run before and {after} m after the "
                "microphone, which stands {d} m from the track ({best})."
            ).format(
                before=figures.general(r.before_m),
                after=figures.general(r.after_m),
                d=figures.general(r.closest_m),
                best=best,
            )
        )

    def paint(self, painter: QPainter) -> None:
        if self._plan is None:
            return
        plan, r = self._plan, self._plan.request
        case = plan.cases[len(plan.cases) // 2]
        line = self.metrics().height()
        y, floor = 2.9 * line, self.height() - 2.4 * line
        room = self.width() - 2 * _SIDE_PX
        deepest = max(r.closest_m, plan.offset.best_m or 0.0)
        scale = min(room / (r.before_m + r.after_m), (floor - y) / deepest)
        start = _SIDE_PX + 0.5 * (room - scale * (r.before_m + r.after_m))

        def x(metres: float) -> float:
            return start + (metres + r.before_m) * scale

        self._windows(painter, case, x(0.0), scale, y)
        self._reach(painter, plan, x(0.0), y, scale, floor)
        painter.setPen(self.pen(self.look.text, 2.5))
        painter.drawLine(QPointF(x(-r.before_m), y), QPointF(x(r.after_m), y))
        tip = QPointF(x(r.after_m), y)
        painter.drawPolyline(QPolygonF([tip + QPointF(-10, -6), tip, tip + QPointF(-10, 6)]))
        if r.markers_m is not None:
            for metres in (-0.5 * r.markers_m, 0.5 * r.markers_m):
                painter.setPen(self.pen(self.look.hand, 4.0))
                painter.drawLine(QPointF(x(metres), y - 9), QPointF(x(metres), y + 9))
            text = self.tr("markers {m} m apart").format(m=figures.general(r.markers_m))
            self.write(painter, x(-0.5 * r.markers_m) - 8, y + 1.3 * line, text, self.look.hand, 1)
        self._microphone(painter, x(0.0), y, y + r.closest_m * scale)
        self._scale_bar(painter, scale)

    def _windows(
        self, painter: QPainter, case: SpeedCase, middle: float, scale: float, y: float
    ) -> None:
        wash = QColor(blend(self.look.card, self.look.sound, 0.22))
        for window, name in (
            (case.approach, self.tr("approach pitch can be read here")),
            (case.recede, self.tr("recede pitch can be read here")),
        ):
            if window is None:
                continue
            left, right = middle + window.start_m * scale, middle + window.stop_m * scale
            painter.fillRect(QRectF(left, y - 12, right - left, 24), wash)
            room = right - left + 80
            if self.metrics().horizontalAdvance(name) > room:
                name = self.tr("approach") if window is case.approach else self.tr("recede")
            half = 0.5 * self.metrics().horizontalAdvance(name)
            at = min(max(0.5 * (left + right), half + 4), self.width() - half - 4)
            self.write(painter, at, y - 18, name, self.look.sound, side=0)

    def _reach(
        self, painter: QPainter, plan: Plan, x: float, y: float, scale: float, floor: float
    ) -> None:
        """Draw where the microphone may stand."""
        o = plan.offset
        if o.best_m is None:
            return
        top, low = y + o.nearest_m * scale, min(y + o.furthest_m * scale, floor)
        if top < low:
            wash = QColor(blend(self.look.card, self.look.agree, 0.22))
            painter.fillRect(QRectF(x - 9, top, 18, low - top), wash)
        best = y + o.best_m * scale
        painter.setPen(self.pen(self.look.agree, 2.0))
        painter.drawLine(QPointF(x - 13, best), QPointF(x + 13, best))
        text = self.tr("best {m} m").format(m=figures.plain(o.best_m, 1))
        down = best + 0.35 * self.metrics().ascent()
        self.write(painter, x - 18, down, text, self.look.agree, side=1)

    def _microphone(self, painter: QPainter, x: float, y: float, shown: float) -> None:
        assert self._plan is not None
        painter.setPen(self.pen(self.look.quiet, 1.2, (4.0, 3.0)))
        painter.drawLine(QPointF(x, y), QPointF(x, shown))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(self.look.sound))
        painter.drawEllipse(QPointF(x, shown), 6.0, 6.0)
        text = self.tr("microphone, {d} m from the track").format(
            d=figures.general(self._plan.request.closest_m)
        )
        self.write(painter, x + 20, shown + 0.35 * self.metrics().ascent(), text, self.look.sound)

    def _scale_bar(self, painter: QPainter, scale: float) -> None:
        assert self._plan is not None
        left = _SIDE_PX
        r = self._plan.request
        length = nice_step(r.before_m + r.after_m, 8)
        y = self.height() - 0.7 * self.metrics().height()
        painter.setPen(self.pen(self.look.text, 3.0))
        painter.drawLine(QPointF(left, y), QPointF(left + length * scale, y))
        label = self.tr("{m} m").format(m=figures.general(length))
        self.write(painter, left + length * scale + 8, y + 4, label)
