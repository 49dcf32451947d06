"""The cursor: reads time, pitch, interval and level where it stands, and marks harmonics."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QObject, QPointF, Qt, Signal

from wayside_app.window.plot.pitch_scale import HERTZ, PitchScale
from wayside_app.window.theme.looks import Look

MOST_HARMONICS = 8


class Cursor(QObject):
    """A cross with lines at whole multiples of its pitch, if wanted.

    Signals
    -------
    moved(time_s, pitch_hz)
    hidden()
    """

    moved = Signal(float, float)
    hidden = Signal()

    def __init__(self, plot: pg.PlotItem, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plot = plot
        self._scale = HERTZ
        self.shown = False
        self.harmonics = False
        self.time_s, self.pitch_hz = 0.0, 0.0
        self._lines = [pg.InfiniteLine(angle=90), pg.InfiniteLine(angle=0)]
        self._comb = [
            pg.InfiniteLine(angle=0, label=f"{n}×", labelOpts={"position": 0.97})
            for n in range(2, MOST_HARMONICS + 1)
        ]
        for line in (*self._lines, *self._comb):
            line.setZValue(45.0)
            line.hide()
            plot.addItem(line, ignoreBounds=True)

    def set_look(self, look: Look) -> None:
        """Take the colours."""
        pen = pg.mkPen(look.text, width=1)
        dots = pg.mkPen(look.text, width=1, style=Qt.PenStyle.DotLine)
        for line in self._lines:
            line.setPen(pen)
        for line in self._comb:
            line.setPen(dots)
            line.label.setColor(look.text)

    def use(self, scale: PitchScale) -> None:
        """Take a pitch scale."""
        self._scale = scale
        if self.shown:
            self.put(self.time_s, self.pitch_hz)

    def put(self, time_s: float, pitch_hz: float) -> None:
        """Place the cursor and show it."""
        self.shown = True
        self.time_s, self.pitch_hz = time_s, max(pitch_hz, 0.0)
        self._lines[0].setPos(time_s)
        self._lines[1].setPos(float(self._scale.place(self.pitch_hz)))
        for n, line in enumerate(self._comb, start=2):
            line.setPos(float(self._scale.place(n * self.pitch_hz)))
            line.setVisible(self.harmonics)
        for line in self._lines:
            line.show()
        self.moved.emit(self.time_s, self.pitch_hz)

    def hide(self) -> None:
        """Take the cursor away."""
        self.shown = False
        for line in (*self._lines, *self._comb):
            line.hide()
        self.hidden.emit()

    def toggle(self) -> None:
        """Show the cursor in the middle of the view, or hide it."""
        if self.shown:
            self.hide()
            return
        (x0, x1), (y0, y1) = self._plot.getViewBox().viewRange()
        self.put(0.5 * (x0 + x1), self._scale.pitch(0.5 * (y0 + y1)))

    def toggle_harmonics(self) -> None:
        """Show or hide the multiples."""
        self.harmonics = not self.harmonics
        if self.harmonics and not self.shown:
            self.toggle()
        elif self.shown:
            self.put(self.time_s, self.pitch_hz)

    def follow(self, point: QPointF) -> None:
        """Go to a point of the scene, if the cursor is on and the point lies on the plot."""
        box = self._plot.getViewBox()
        if self.shown and box.sceneBoundingRect().contains(point):
            place = box.mapSceneToView(point)
            self.put(place.x(), self._scale.pitch(place.y()))
