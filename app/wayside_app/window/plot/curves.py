"""What is drawn over the spectrogram: pitch track, fitted and predicted curve, crossings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QPen

from wayside_app.window.theme.looks import Look

FloatArray = npt.NDArray[np.float64]

_DASH_PX, _GAP_PX = 11.0, 8.0
_EMPTY = np.empty(0)

LINE_PX = 2.5


class HaloCurve:
    """A line with a rim in the colour of the paper and a band of its uncertainty."""

    def __init__(self, plot: pg.PlotItem, z: float) -> None:
        self._shown = (_EMPTY, _EMPTY, _EMPTY, _EMPTY)
        self._rim = pg.PlotCurveItem(antialias=True)
        self._line = pg.PlotCurveItem(antialias=True)
        self._edges = (pg.PlotCurveItem(pen=None), pg.PlotCurveItem(pen=None))
        self._band = pg.FillBetweenItem(*self._edges)
        self._band.setZValue(z - 5.0)
        self._rim.setZValue(z)
        self._line.setZValue(z + 5.0)
        for item in (*self._edges, self._band, self._rim, self._line):
            plot.addItem(item, ignoreBounds=True)

    def set_colours(self, line: str, rim: str, width: float, dashed: bool) -> None:
        """Take colours, line width in pixels and whether it is dashed."""
        self._line.setPen(_pen(line, width, dashed))
        self._rim.setPen(_pen(rim, width + 3.0, dashed))
        wash = QColor(line)
        wash.setAlpha(26)
        self._band.setBrush(wash)
        for edge in self._edges:
            edge.setPen(pg.mkPen(line, width=1, style=Qt.PenStyle.DotLine))

    def show(
        self, times: FloatArray, places: FloatArray, low: FloatArray, high: FloatArray
    ) -> None:
        """Draw the line through the points, and the band between low and high."""
        wanted = (times, places, low, high)
        if all(map(np.array_equal, wanted, self._shown)):
            return
        self._shown = wanted
        self._rim.setData(times, places)
        self._line.setData(times, places)
        for edge, y in zip(self._edges, (low, high), strict=True):
            edge.setData(times, y)

    def hide(self) -> None:
        """Draw nothing."""
        self.show(_EMPTY, _EMPTY, _EMPTY, _EMPTY)

    @property
    def points(self) -> tuple[FloatArray, FloatArray]:
        """What is drawn now."""
        x, y = self._line.getData()
        return (_EMPTY if x is None else x), (_EMPTY if y is None else y)

    @property
    def band(self) -> tuple[FloatArray, FloatArray]:
        """Lower and upper edge of the band drawn now."""
        low, high = (edge.getData()[1] for edge in self._edges)
        return (_EMPTY if low is None else low), (_EMPTY if high is None else high)


class Overlays:
    """Track, fit, prediction and marker crossings over one spectrogram."""

    def __init__(self, plot: pg.PlotItem) -> None:
        self._plot = plot
        self.line_px = LINE_PX
        self.fit = HaloCurve(plot, 20.0)
        self.prediction = HaloCurve(plot, 30.0)
        self.track = pg.ScatterPlotItem(size=7, pxMode=True)
        # over the rim, under the line: scatter about the fit shows
        self.track.setZValue(22.0)
        plot.addItem(self.track, ignoreBounds=True)
        self.crossings: list[pg.InfiniteLine] = []
        self._crossing_data: Sequence[tuple[float, str]] = ()
        self._crossings_drawn: object = None
        self._look: Look | None = None
        self._font = QFont()

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours: solid blue is the sound, dashed orange the hand."""
        self._look, self._font = look, font
        self.fit.set_colours(look.sound, look.paper, self.line_px, dashed=False)
        self.prediction.set_colours(look.hand, look.paper, self.line_px, dashed=True)
        self.track.setPen(pg.mkPen(look.sound, width=1))
        self.track.setBrush(pg.mkBrush(look.paper))
        self.show_crossings(self._crossing_data)

    def show_crossings(self, crossings: Sequence[tuple[float, str]]) -> None:
        """Mark the times (s) at which the markers were crossed, each with its name."""
        self._crossing_data = crossings
        wanted = (tuple(crossings), self._look, self._font)
        if wanted == self._crossings_drawn:
            return
        self._crossings_drawn = wanted
        for line in self.crossings:
            self._plot.removeItem(line)
        self.crossings = []
        if self._look is None:
            return
        last = len(crossings) - 1
        for at, (time_s, name) in enumerate(crossings):
            # outwards, so that a name never stands beside its neighbour's line
            outwards = (1.0 if at == 0 else 0.0 if at == last else 0.5, 0.5)
            line = pg.InfiniteLine(
                time_s,
                angle=90,
                pen=_pen(self._look.hand, 1.5, dashed=True),
                label=name,
                labelOpts={
                    "position": 0.06 + 0.1 * (at % 2),
                    "anchors": [outwards, outwards],
                    "color": self._look.hand,
                    "fill": self._look.paper,
                },
            )
            line.label.setFont(self._font)
            line.setZValue(38.0)
            self._plot.addItem(line, ignoreBounds=True)
            self.crossings.append(line)


def _pen(colour: str, width: float, dashed: bool) -> QPen:
    pen: QPen = pg.mkPen(colour, width=width)
    if dashed:
        # lengths count in pen widths; in pixels they are the same for line and rim, so that
        # a curve underneath shows through the gaps
        pen.setStyle(Qt.PenStyle.CustomDashLine)
        pen.setDashPattern([_DASH_PX / width, _GAP_PX / width])
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen
