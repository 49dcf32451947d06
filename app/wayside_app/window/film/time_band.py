"""The time band under the picture: the sound's spectrogram, the crossings and the passing time on
the film's clock, and the frame looked at. Dragging along it moves through the film."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetrics,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractSlider, QSizePolicy, QWidget

from wayside.film.times import FrameTimes
from wayside.quantity import Quantity
from wayside.sound.spectrogram import Picture
from wayside_app.window import figures
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.plot.ink import level_range, tones
from wayside_app.window.theme.looks import LIGHT, Look

_STRIP_LINES = 2.6
_MARGIN = 10.0
_HIGHEST_HZ = 3000.0
_TICK_STEPS = (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600)


@dataclass(frozen=True)
class BandMark:
    """One crossing on the band.

    Parameters
    ----------
    number : int
        The marker's, from 1.
    before_s, after_s : float or None
        The frames marked (s).
    time : Quantity or None
        The crossing (s), once both are marked.
    """

    number: int
    before_s: float | None
    after_s: float | None
    time: Quantity | None


class TimeBand(QAbstractSlider):
    """A slider over the film's frames, placed by their true times."""

    def __init__(self, desk: FilmDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._look: Look = LIGHT
        self._font = QFont()
        self._times: FrameTimes | None = None
        self._sound: Picture | None = None
        self._pitches: tuple[float, float] | None = None
        self._strip: QImage | None = None
        self._marks: Sequence[BandMark] = ()
        self._passing: Quantity | None = None
        self.setOrientation(Qt.Orientation.Horizontal)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(self.tr("Time in the film"))
        self.setMouseTracking(True)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self.valueChanged.connect(self._asked)
        desk.frame_changed.connect(self._follow)

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self._look, self._font = look, font
        self.setFixedHeight(self.sizeHint().height())
        self._paint_strip()
        self.update()

    def show_film(self, times: FrameTimes | None) -> None:
        """Take the frame times of another film."""
        self._times = times
        self.blockSignals(True)
        self.setRange(0, max(0, (0 if times is None else len(times)) - 1))
        self.setValue(self._desk.index)
        self.blockSignals(False)
        self.setEnabled(times is not None)
        self._paint_strip()
        self.update()

    def show_sound(
        self, overview: Picture | None, pitches_hz: tuple[float, float] | None = None
    ) -> None:
        """Take the spectrogram of the sound, on the film's clock as the file places it.

        Parameters
        ----------
        overview : Picture or None
        pitches_hz : tuple of float, optional
            Recede and approach pitch, to show the glide between them large.
        """
        self._sound, self._pitches = overview, pitches_hz
        self._paint_strip()
        self.update()

    def show_marks(self, marks: Sequence[BandMark], passing: Quantity | None) -> None:
        """Take the crossings, and when the passing found in the sound is seen (s)."""
        self._marks, self._passing = marks, passing
        self.update()

    # --- places -------------------------------------------------------------------------

    @property
    def span(self) -> tuple[float, float]:
        """First and last time on the band (s)."""
        if self._times is None:
            return 0.0, 1.0
        start, stop = float(self._times.seconds[0]), float(self._times.seconds[-1])
        return start, max(stop, start + 1e-3)

    def x_of(self, time_s: float) -> float:
        """Return where a time lies (pixels from the left)."""
        start, stop = self.span
        room = self.width() - 2 * _MARGIN
        return _MARGIN + room * (time_s - start) / (stop - start)

    def time_at(self, x: float) -> float:
        """Return the time at a place (s)."""
        start, stop = self.span
        room = max(1.0, self.width() - 2 * _MARGIN)
        return start + (stop - start) * min(max((x - _MARGIN) / room, 0.0), 1.0)

    def sizeHint(self) -> QSize:
        line = QFontMetrics(self._font).height()
        return QSize(400, round((_STRIP_LINES + 2.2) * line) + 6)

    # --- hands --------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.setSliderDown(True)
            self._drag_to(event.position().x())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self.isSliderDown():
            self._drag_to(event.position().x())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() == Qt.MouseButton.LeftButton:
            self.setSliderDown(False)

    def wheelEvent(self, event: QWheelEvent) -> None:
        notches = round(event.angleDelta().y() / 120.0)
        if notches:
            self._desk.step(-notches)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        # the panel's keys mean the same everywhere in it
        event.ignore()

    def _drag_to(self, x: float) -> None:
        if self._times is not None:
            self.setValue(self._times.nearest(self.time_at(x)))

    def _asked(self, index: int) -> None:
        if index != self._desk.index:
            self._desk.go_to(index)

    def _follow(self) -> None:
        self.setValue(self._desk.index)
        self.update()

    # --- painting -----------------------------------------------------------------------

    def _paint_strip(self) -> None:
        """Turn the levels into a picture whose columns are the sound's own."""
        self._strip = None
        if self._sound is None:
            return
        low, high = (0.0, _HIGHEST_HZ) if self._pitches is None else _around(*self._pitches)
        part = _rows(self._sound, low, high)
        shown = np.ascontiguousarray(part.levels[::-1])
        rgb = np.ascontiguousarray(tones(self._look, *level_range(part))[shown])
        height, width, _ = rgb.shape
        image = QImage(rgb.data, width, height, 3 * width, QImage.Format.Format_RGB888)
        self._strip = image.copy()

    def paintEvent(self, event: QPaintEvent) -> None:
        line = QFontMetrics(self._font).height()
        strip = QRectF(_MARGIN, line + 2, self.width() - 2 * _MARGIN, _STRIP_LINES * line)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(self._font)
        painter.fillRect(strip, QColor(self._look.paper))
        if self._times is not None:
            self._draw_sound(painter, strip)
            self._draw_ticks(painter, strip)
            self._draw_passing(painter, strip)
            for mark in self._marks:
                self._draw_mark(painter, strip, mark)
            self._draw_now(painter, strip)
        painter.setPen(QPen(QColor(self._look.rule), 1))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(strip)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._look.focus), 2))
            painter.drawRect(strip.adjusted(-2, -2, 2, 2))
        painter.end()

    def _draw_sound(self, painter: QPainter, strip: QRectF) -> None:
        if self._strip is None or self._sound is None:
            return
        request = self._sound.request
        left, right = self.x_of(request.start_s), self.x_of(request.stop_s)
        painter.save()
        painter.setClipRect(strip)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(QRectF(left, strip.top(), right - left, strip.height()), self._strip)
        painter.restore()

    def _draw_ticks(self, painter: QPainter, strip: QRectF) -> None:
        start, stop = self.span
        metrics = QFontMetrics(self._font)
        wanted = 1.8 * metrics.horizontalAdvance("00.00 s") * (stop - start) / max(1, strip.width())
        step = next((s for s in _TICK_STEPS if s >= wanted), _TICK_STEPS[-1])
        painter.setPen(QColor(self._look.quiet))
        for k in range(math.ceil(start / step), math.floor(stop / step) + 1):
            x = self.x_of(k * step)
            painter.drawLine(QPointF(x, strip.bottom()), QPointF(x, strip.bottom() + 4))
            text = figures.local(f"{k * step:g} s")
            half = metrics.horizontalAdvance(text) / 2 + 1
            middle = min(max(x, half), self.width() - half)
            room = QRectF(middle - half, strip.bottom() + 4, 2 * half, metrics.height())
            painter.drawText(room, Qt.AlignmentFlag.AlignHCenter, text)

    def _draw_passing(self, painter: QPainter, strip: QRectF) -> None:
        passing = self._passing
        if passing is None:
            return
        wash = QColor(self._look.sound)
        wash.setAlpha(55)
        left, right = (self.x_of(passing.value + s * passing.u) for s in (-1, 1))
        painter.fillRect(QRectF(left, strip.top(), right - left, strip.height()), wash)
        x = self.x_of(passing.value)
        painter.setPen(QPen(QColor(self._look.sound), 2.5))
        painter.drawLine(QPointF(x, strip.top()), QPointF(x, strip.bottom()))

    def _draw_mark(self, painter: QPainter, strip: QRectF, mark: BandMark) -> None:
        known = [t for t in (mark.before_s, mark.after_s) if t is not None]
        if not known:
            return
        colour = QColor(self._look.hand)
        x = self.x_of(mark.time.value if mark.time is not None else known[0])
        pen = QPen(colour, 2.0)
        if mark.time is not None:
            pen.setDashPattern([4, 2.5])
        else:
            pen.setDashPattern([1, 2])
        painter.setPen(QPen(QColor(self._look.paper), 4.5))
        painter.drawLine(QPointF(x, strip.top()), QPointF(x, strip.bottom()))
        painter.setPen(pen)
        painter.drawLine(QPointF(x, strip.top()), QPointF(x, strip.bottom()))
        bold = QFont(self._font)
        bold.setBold(True)
        painter.setFont(bold)
        painter.setPen(colour)
        room = QRectF(x - 20, 0, 40, strip.top() - 1)
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, str(mark.number))
        painter.setFont(self._font)

    def _draw_now(self, painter: QPainter, strip: QRectF) -> None:
        x = self.x_of(self._desk.time_s)
        for colour, width in ((self._look.paper, 5.0), (self._look.text, 2.0)):
            painter.setPen(QPen(QColor(colour), width))
            painter.drawLine(QPointF(x, strip.top()), QPointF(x, strip.bottom()))
        painter.setPen(QPen(QColor(self._look.paper), 1))
        painter.setBrush(QColor(self._look.text))
        foot = strip.bottom()
        painter.drawPolygon(
            QPolygonF([QPointF(x, foot - 9), QPointF(x - 7, foot + 3), QPointF(x + 7, foot + 3)])
        )
        painter.setBrush(Qt.BrushStyle.NoBrush)


def _around(recede_hz: float, approach_hz: float) -> tuple[float, float]:
    """Return a pitch range in which the glide between two pitches is seen."""
    margin = max(4.0 * (approach_hz - recede_hz), 0.15 * approach_hz)
    return max(0.0, recede_hz - margin), approach_hz + margin


def _rows(picture: Picture, low_hz: float, high_hz: float) -> Picture:
    """Return the part of a spectrogram in a pitch range, at least a few rows of it."""
    request = picture.request
    per_hz = len(picture.levels) / (request.high_hz - request.low_hz)
    first = min(max(0, math.floor((low_hz - request.low_hz) * per_hz)), len(picture.levels) - 1)
    stop = min(len(picture.levels), max(first + 4, math.ceil((high_hz - request.low_hz) * per_hz)))
    return Picture(picture.levels[first:stop], request)
