"""What is drawn over the spectrogram: pitch track, fitted curve, predicted curve."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QPen

from wayside.physics.passby import PassBy
from wayside_app.window.theme.looks import Look

FloatArray = npt.NDArray[np.float64]

_POINTS = 400
_DASH_PX, _GAP_PX = 11.0, 8.0


def curve_points(passby: PassBy, start_s: float, stop_s: float) -> tuple[FloatArray, FloatArray]:
    """Return times (s) and pitches (Hz) of a pass-by, denser around the passing.

    Points are even in the angle ``asinh``, so the glide is smooth at any zoom.
    """
    scale = max(passby.closest_m / passby.speed_mps, 1e-3)
    heard = passby.passing_time_s + passby.closest_m / passby.sound_speed_mps
    low, high = np.arcsinh((start_s - heard) / scale), np.arcsinh((stop_s - heard) / scale)
    times = heard + scale * np.sinh(np.linspace(low, high, _POINTS))
    pitches = passby.pitch(times)
    good = np.isfinite(pitches) & (pitches > 0)
    return times[good], pitches[good]


def _pen(colour: str, width: float, dashed: bool) -> QPen:
    pen: QPen = pg.mkPen(colour, width=width)
    if dashed:
        # lengths count in pen widths; in pixels they are the same for line and rim, so that
        # a curve underneath shows through the gaps
        pen.setStyle(Qt.PenStyle.CustomDashLine)
        pen.setDashPattern([_DASH_PX / width, _GAP_PX / width])
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


class HaloCurve:
    """A line with a rim in the colour of the paper, so that it stands out on any tone."""

    def __init__(self, plot: pg.PlotItem, z: float) -> None:
        self._rim = pg.PlotCurveItem(antialias=True)
        self._line = pg.PlotCurveItem(antialias=True)
        self._rim.setZValue(z)
        self._line.setZValue(z + 5.0)
        for item in (self._rim, self._line):
            plot.addItem(item, ignoreBounds=True)

    def set_colours(self, line: str, rim: str, width: float, dashed: bool) -> None:
        """Take colours, line width in pixels and whether it is dashed."""
        self._line.setPen(_pen(line, width, dashed))
        self._rim.setPen(_pen(rim, width + 3.0, dashed))

    def show(self, times: FloatArray, pitches: FloatArray) -> None:
        """Draw the line through the points; none hide it."""
        self._rim.setData(times, pitches)
        self._line.setData(times, pitches)

    def hide(self) -> None:
        """Draw nothing."""
        self.show(np.empty(0), np.empty(0))

    @property
    def points(self) -> tuple[FloatArray, FloatArray]:
        """What is drawn now."""
        x, y = self._line.getData()
        empty = np.empty(0)
        return (empty if x is None else x), (empty if y is None else y)


class Overlays:
    """Track, fit and prediction over one spectrogram."""

    def __init__(self, plot: pg.PlotItem) -> None:
        self.fit = HaloCurve(plot, 20.0)
        self.prediction = HaloCurve(plot, 30.0)
        self.track = pg.ScatterPlotItem(size=7, pxMode=True)
        # over the rim, under the line: scatter about the fit shows
        self.track.setZValue(22.0)
        plot.addItem(self.track, ignoreBounds=True)

    def set_look(self, look: Look) -> None:
        """Take the colours: solid blue is the sound, dashed orange the hand."""
        self.fit.set_colours(look.sound, look.paper, 2.5, dashed=False)
        self.prediction.set_colours(look.hand, look.paper, 2.5, dashed=True)
        self.track.setPen(pg.mkPen(look.sound, width=1))
        self.track.setBrush(pg.mkBrush(look.paper))
