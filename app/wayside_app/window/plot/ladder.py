"""The pitch ladder: approach and recede pitch of hand and sound as bars on the same axis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import pyqtgraph as pg
from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QColor, QFont

from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.plot.pitch_scale import HERTZ, PitchScale
from wayside_app.window.theme.looks import Look

HAND_RAIL, SOUND_RAIL = 0.27, 0.73
_MARK_WIDTH = 0.40
_BAR_WIDTH = 0.13
_BAR_SHIFT = 0.10
_COVERAGE = 2.0  # bars are as tall as the 95 % interval, k = 2 (JCGM 100, 6.3)


@dataclass(frozen=True)
class Rung:
    """One bar on the ladder; ``above`` marks the approach pitch, whose number stands above."""

    rail: float
    pitch: Quantity
    above: bool


class Ladder:
    """Fills a plot item with the two rails."""

    def __init__(self, plot: pg.PlotItem) -> None:
        self._plot = plot
        self._items: list[pg.GraphicsObject] = []
        self._rungs: Sequence[Rung] = ()
        self._drawn: object = None
        self._look: Look | None = None
        self._font = QFont()
        self._scale = HERTZ
        plot.setMouseEnabled(x=False, y=True)
        plot.setXRange(0.0, 1.0, padding=0.0)
        plot.hideAxis("left")
        plot.showAxis("bottom")
        plot.getAxis("bottom").setStyle(showValues=False, tickLength=0)
        plot.showAxis("top")
        plot.showAxis("right")
        plot.getAxis("right").setStyle(showValues=False, tickLength=0)
        plot.getAxis("top").setTicks(
            [
                [
                    (HAND_RAIL, QCoreApplication.translate("Ladder", "hand")),
                    (SOUND_RAIL, QCoreApplication.translate("Ladder", "sound")),
                ]
            ]
        )
        plot.getAxis("top").setStyle(tickLength=0)

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self._look, self._font = look, font
        for side in ("top", "right"):
            axis = self._plot.getAxis(side)
            axis.setPen(look.rule)
            axis.setTextPen(look.text)
            axis.setTickFont(font)
        self.show_rungs(self._rungs)

    def use(self, scale: PitchScale) -> None:
        """Take a pitch scale."""
        self._scale = scale
        self.show_rungs(self._rungs)

    def show_rungs(self, rungs: Sequence[Rung]) -> None:
        """Draw the bars."""
        self._rungs = rungs
        wanted = (tuple(rungs), self._look, self._font, self._scale)
        if wanted == self._drawn:
            return
        self._drawn = wanted
        for item in self._items:
            self._plot.removeItem(item)
        self._items = []
        if self._look is None:
            return
        for rung in rungs:
            if math.isfinite(rung.pitch.value):
                self._draw(rung, self._look)

    def _draw(self, rung: Rung, look: Look) -> None:
        colour = look.hand if rung.rail == HAND_RAIL else look.sound
        wash = QColor(colour)
        wash.setAlpha(110)
        middle, half = rung.pitch.value, _COVERAGE * rung.pitch.u
        # the two bars of a rail stand side by side, so that wide ones do not hide each other
        centre = rung.rail + (-_BAR_SHIFT if rung.above else _BAR_SHIFT)
        left, right = centre - _BAR_WIDTH / 2, centre + _BAR_WIDTH / 2
        if math.isfinite(half) and half > 0:
            low = float(self._scale.place(max(middle - half, 0.0)))
            high = float(self._scale.place(middle + half))
            self._add(
                pg.BarGraphItem(x0=[left], x1=[right], y0=[low], y1=[high], brush=wash, pen=None)
            )
        y = float(self._scale.place(middle))
        ends = [rung.rail - _MARK_WIDTH / 2, rung.rail + _MARK_WIDTH / 2]
        self._add(pg.PlotCurveItem(ends, [y, y], pen=pg.mkPen(colour, width=3)))
        number = pg.TextItem(
            figures.plain(middle, 1), color=colour, anchor=(0.5, 1.0 if rung.above else 0.0)
        )
        number.setFont(self._font)
        number.setPos(rung.rail, y)
        self._add(number)

    def _add(self, item: pg.GraphicsObject) -> None:
        self._plot.addItem(item, ignoreBounds=True)
        self._items.append(item)
