"""The plot under the spectrogram, on the same time axis."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics
from PySide6.QtWidgets import QWidget

from wayside_app.window.plot.number_axis import NumberAxis
from wayside_app.window.plot.under_series import HAND, Series
from wayside_app.window.theme.looks import LIGHT, Look

_HEIGHT_LINES = 6.0


_PLACES = ((0.01, 0.0), (0.2, 0.0), (0.61, 0.0), (0.99, 1.0))
"""Where names of levels stand along the plot, and with which edge."""


class UnderPlot(pg.GraphicsLayoutWidget):  # type: ignore[misc]
    """Draws one `Series`; hidden while there is none."""

    def __init__(self, above: pg.ViewBox, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(self.tr("Plot under the spectrogram"))
        self.plot: pg.PlotItem = self.addPlot(
            0, 0, viewBox=pg.ViewBox(enableMenu=False), axisItems={"left": NumberAxis("left")}
        )
        self.plot.hideButtons()
        self.plot.setMenuEnabled(False)
        self.plot.ctrlMenu.setParent(self, Qt.WindowType.Popup)
        self.plot.setXLink(above)
        self.plot.setMouseEnabled(x=True, y=False)
        self._above = above
        self._look = LIGHT
        self._font = QFont()
        self.series: Series | None = None
        self._items: list[pg.GraphicsObject] = []
        above.sigXRangeChanged.connect(lambda *_: self._fit_height())
        self.hide()

    def set_look(self, look: Look, font: QFont, left_width: float, right_width: float) -> None:
        """Take colours, text size and the margins of the plot above."""
        self._look, self._font = look, font
        self.setBackground(look.card)
        self.setFixedHeight(round(_HEIGHT_LINES * QFontMetrics(font).height()))
        for side in ("left", "bottom"):
            axis = self.plot.getAxis(side)
            axis.enableAutoSIPrefix(False)
            axis.setPen(look.rule)
            axis.setTextPen(look.text)
            axis.setTickFont(font)
        self.plot.getAxis("bottom").setStyle(showValues=False)
        self.plot.getAxis("left").setWidth(left_width)
        self.ci.layout.setContentsMargins(0, 0, right_width, 0)
        self.show_series(self.series)

    def show_series(self, series: Series | None) -> None:
        """Draw a series, or hide."""
        self.series = series
        for item in self._items:
            self.plot.removeItem(item)
        self._items = []
        self.setVisible(series is not None)
        if series is None:
            return
        self.setAccessibleDescription(series.sentence)
        size = f"{self._font.pointSizeF() if self._font.pointSizeF() > 0 else 11:.1f}pt"
        self.plot.setLabel("left", series.axis, **{"color": self._look.text, "font-size": size})
        self._draw(series)
        self._fit_height()
        # only this has the axis put its name in the middle again
        self.plot.getAxis("left").resizeEvent()

    def _draw(self, series: Series) -> None:
        look = self._look
        for x, low, high in series.fills:
            wash = QColor(look.sound)
            wash.setAlpha(120)
            edges = [pg.PlotCurveItem(x, y, pen=pg.mkPen(look.sound, width=1)) for y in (low, high)]
            for edge in edges:
                self._add(edge)
            self._add(pg.FillBetweenItem(*edges, brush=wash))
        for line in series.lines:
            self._add(pg.PlotCurveItem(line.x, line.y, pen=self._pen(line.voice)))
        for dots in series.points:
            colour = look.hand if dots.voice == HAND else look.sound
            if dots.u.size:
                self._add(
                    pg.ErrorBarItem(
                        x=dots.x, y=dots.y, height=2 * dots.u, pen=pg.mkPen(colour, width=1)
                    )
                )
            self._add(
                pg.ScatterPlotItem(
                    dots.x, dots.y, size=6, pen=pg.mkPen(colour), brush=pg.mkBrush(look.card)
                )
            )
        top = max((level.y for level in series.levels), default=0.0)
        for at, level in enumerate(series.levels):
            line = pg.InfiniteLine(level.y, angle=0, pen=self._pen(level.voice, width=1.2))
            self._add(line)
            if level.name:
                colour = look.hand if level.voice == HAND else look.sound
                # under the top line, over the others, and side by side in case they lie close
                position, edge = _PLACES[at % len(_PLACES)]
                anchor = (edge, 0.0 if level.y == top else 1.0)
                label = pg.InfLineLabel(
                    line, level.name, position=position, anchors=[anchor] * 2, fill=look.card
                )
                label.setColor(colour)
                label.setFont(self._font)

    def _pen(self, voice: str, width: float = 2.0) -> object:
        if voice == HAND:
            return pg.mkPen(self._look.hand, width=width, style=Qt.PenStyle.DashLine)
        return pg.mkPen(self._look.sound, width=width)

    def _add(self, item: pg.GraphicsObject) -> None:
        self.plot.addItem(item, ignoreBounds=True)
        self._items.append(item)

    def _fit_height(self) -> None:
        """Show all there is in the stretch of time seen now."""
        if self.series is None:
            return
        low, high = self._above.viewRange()[0]
        seen: list[float] = [level.y for level in self.series.levels]
        pairs = [(line.x, line.y) for line in self.series.lines]
        for dots in self.series.points:
            reach = dots.u if dots.u.size else np.zeros_like(dots.y)
            pairs += [(dots.x, dots.y - reach), (dots.x, dots.y + reach)]
        pairs += [(x, y) for x, a, b in self.series.fills for y in (a, b)]
        for x, y in pairs:
            inside = y[(x >= low) & (x <= high) & np.isfinite(y)]
            if inside.size:
                seen += [float(inside.min()), float(inside.max())]
        if seen:
            bottom, top = min(seen), max(seen)
            margin = 0.12 * (top - bottom) or 1.0
            self.plot.getViewBox().setYRange(bottom - margin, top + margin, padding=0.0)
