"""A reading window on the plot: drag it, or one of its edges."""

from __future__ import annotations

import pyqtgraph as pg
from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QColor, QFont

from wayside.session.session import Span
from wayside_app.window.theme.looks import Look


class ReadingWindowItem(QObject):
    """One window with its name at the top.

    Signals
    -------
    moving(span)
        While it is dragged.
    moved(span)
        When it was let go.
    """

    moving = Signal(object)
    moved = Signal(object)

    def __init__(self, plot: pg.PlotItem, name: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plot = plot
        self.region = pg.LinearRegionItem(orientation="vertical", swapMode="block")
        self.region.setZValue(10.0)
        self.label = pg.TextItem(name, anchor=(0.5, 0.0))
        self.label.setZValue(40.0)
        for item in (self.region, self.label):
            plot.addItem(item, ignoreBounds=True)
        self._showing = False
        self._suppressed = False
        self._placed = False
        self.region.sigRegionChanged.connect(self._on_moving)
        self.region.sigRegionChangeFinished.connect(self._on_moved)
        plot.getViewBox().sigRangeChanged.connect(self._place_label)
        self.hide()

    def set_look(self, look: Look, font: QFont) -> None:
        """Take colours and text size."""
        wash, hover = QColor(look.sound), QColor(look.sound)
        wash.setAlpha(38)
        hover.setAlpha(70)
        self.region.setBrush(wash)
        self.region.setHoverBrush(hover)
        for line in self.region.lines:
            line.setPen(pg.mkPen(look.sound, width=2))
            line.setHoverPen(pg.mkPen(look.focus, width=4))
        self.label.setColor(look.sound)
        self.label.fill = pg.mkBrush(look.paper)
        self.label.setFont(font)

    def set_span(self, span: Span | None) -> None:
        """Show the window at `span`, or hide it."""
        if span is None:
            self.hide()
            return
        self._showing = True
        if tuple(self.region.getRegion()) != span:
            self.region.setRegion(span)
        self._showing = False
        self._placed = True
        self._appear()

    def hide(self) -> None:
        """Take the window off the plot."""
        self._placed = False
        self._appear()

    def suppress(self, suppressed: bool) -> None:
        """Keep the window off the plot for now, wherever it is."""
        self._suppressed = suppressed
        self._appear()

    def _appear(self) -> None:
        visible = self._placed and not self._suppressed
        self.region.setVisible(visible)
        self.label.setVisible(visible)
        if visible:
            self._place_label()

    @property
    def span(self) -> Span:
        """Where it is now (s)."""
        low, high = self.region.getRegion()
        return float(low), float(high)

    def _on_moving(self) -> None:
        self._place_label()
        if not self._showing:
            self.moving.emit(self.span)

    def _on_moved(self) -> None:
        if not self._showing:
            self.moved.emit(self.span)

    def _place_label(self) -> None:
        low, high = self.span
        top = self._plot.getViewBox().viewRange()[1][1]
        self.label.setPos(0.5 * (low + high), top)
