"""The spectrogram with its curves, reading windows and pitch ladder on one pitch axis."""

from __future__ import annotations

from collections.abc import Sequence

import pyqtgraph as pg
from PySide6.QtCore import QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent
from PySide6.QtWidgets import QWidget

from wayside.session.session import Span
from wayside.sound.spectrogram import MAX_COLUMNS, MAX_ROWS, Picture, PictureRequest
from wayside_app.window.plot.curves import Overlays
from wayside_app.window.plot.ink import level_range, tones
from wayside_app.window.plot.ladder import Ladder, Rung
from wayside_app.window.plot.reading_window import ReadingWindowItem
from wayside_app.window.theme.looks import LIGHT, Look

_SETTLE_MS = 60
_ZOOM_STEP = 0.8
_PAN_STEP = 0.1
_LADDER_WIDTH = 190
_LEAST_HEIGHT = 250


class TimePitchBox(pg.ViewBox):  # type: ignore[misc]
    """Wheel zooms time around the pointer, with Ctrl the pitch; dragging moves the picture."""

    def __init__(self) -> None:
        super().__init__(enableMenu=False)

    def wheelEvent(self, event: object, axis: int | None = None) -> None:
        if axis is None:
            ctrl = event.modifiers() & Qt.KeyboardModifier.ControlModifier  # type: ignore[attr-defined]
            axis = 1 if ctrl else 0
        super().wheelEvent(event, axis)


class SpectrogramPlot(pg.GraphicsLayoutWidget):  # type: ignore[misc]
    """Area 2's picture.

    Signals
    -------
    picture_wanted(PictureRequest)
        The view changed and has settled: a sharper picture of it is wanted.
    moved_by_hand()
        The user zoomed or moved the picture.
    """

    picture_wanted = Signal(object)
    moved_by_hand = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(self.tr("Spectrogram"))
        self.setMinimumHeight(_LEAST_HEIGHT)
        self.box = TimePitchBox()
        self.plot: pg.PlotItem = self.addPlot(0, 0, viewBox=self.box)
        self._ladder_plot: pg.PlotItem = self.addPlot(0, 1, viewBox=TimePitchBox())
        for plot in (self.plot, self._ladder_plot):
            plot.hideButtons()
            # the library's own menus are not used; given a parent they go when it goes
            plot.setMenuEnabled(False)
            plot.ctrlMenu.setParent(self, Qt.WindowType.Popup)
        self._ladder_plot.setYLink(self.plot)
        self._ladder_plot.setFixedWidth(_LADDER_WIDTH)
        self.ladder = Ladder(self._ladder_plot)
        self.ci.layout.setColumnStretchFactor(0, 1)
        self.ci.layout.setColumnStretchFactor(1, 0)
        self._overview = _image(self.plot, -20.0)
        self._detail = _image(self.plot, -10.0)
        self.overlays = Overlays(self.plot)
        self.approach = ReadingWindowItem(self.plot, self.tr("approach"), self)
        self.recede = ReadingWindowItem(self.plot, self.tr("recede"), self)
        self._look = LIGHT
        self._levels = (0, 255)
        self._whole: tuple[Span, Span] | None = None
        self._window_s = 0.085
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(_SETTLE_MS)
        self._settle.timeout.connect(self._ask)
        self.box.sigRangeChanged.connect(lambda *_: self._settle.start())
        self.box.sigRangeChangedManually.connect(lambda *_: self.moved_by_hand.emit())
        self.set_look(LIGHT, QFont())

    # --- looks --------------------------------------------------------------------------

    def set_look(self, look: Look, font: QFont) -> None:
        """Take colours and text size."""
        self._look = look
        self.setBackground(look.card)
        size = f"{font.pointSizeF() if font.pointSizeF() > 0 else 11:.1f}pt"
        style = {"color": look.text, "font-size": size}
        self.plot.setLabel("bottom", self.tr("time (s)"), **style)
        self.plot.setLabel("left", self.tr("pitch (Hz)"), **style)
        for side in ("bottom", "left"):
            axis = self.plot.getAxis(side)
            axis.enableAutoSIPrefix(False)
            axis.setPen(look.rule)
            axis.setTextPen(look.text)
            axis.setTickFont(font)
        self.plot.showAxis("top")
        self.plot.getAxis("top").setStyle(showValues=False, tickLength=0)
        self.plot.getAxis("top").setPen(look.rule)
        # equal margins above and below keep both pitch axes in line
        line = QFontMetrics(font).height()
        for plot in (self.plot, self._ladder_plot):
            plot.getAxis("top").setHeight(line + 4)
            plot.getAxis("bottom").setHeight(2 * line + 8)
        self.overlays.set_look(look)
        bold = QFont(font)
        bold.setBold(True)
        for window in (self.approach, self.recede):
            window.set_look(look, bold)
        self.ladder.set_look(look, bold)
        scale = QFontMetrics(bold).horizontalAdvance("0000.0") * 2.4 / _LADDER_WIDTH
        self._ladder_plot.setFixedWidth(_LADDER_WIDTH * max(1.0, scale))
        self._paint_tones()

    def set_tones(self, quiet: int, loud: int) -> None:
        """Choose which levels are paper and which are full ink."""
        self._levels = (quiet, loud)
        self._paint_tones()

    def _paint_tones(self) -> None:
        table = tones(self._look, *self._levels)
        for image in (self._overview, self._detail):
            image.setLookupTable(table)

    # --- pictures -----------------------------------------------------------------------

    def show_overview(self, picture: Picture) -> None:
        """Show another recording as a whole."""
        self._detail.hide()
        _show(self._overview, picture)
        request = picture.request
        self._whole = ((request.start_s, request.stop_s), (request.low_hz, request.high_hz))
        length = request.stop_s - request.start_s
        self.box.setLimits(
            xMin=request.start_s - 0.1 * length,
            xMax=request.stop_s + 0.1 * length,
            yMin=0.0,
            minXRange=0.02,
            minYRange=2.0,
        )
        self.set_tones(*level_range(picture))
        self.show_whole()

    def show_detail(self, picture: Picture) -> None:
        """Lay a sharper picture of the view over the overview."""
        _show(self._detail, picture)

    def clear_pictures(self) -> None:
        """Show no recording."""
        self._overview.hide()
        self._detail.hide()
        self._whole = None

    def sharpen(self, window_s: float) -> None:
        """Choose the frame length of pictures still to come (s)."""
        if window_s != self._window_s:
            self._window_s = window_s
            self._settle.start()

    # --- view ---------------------------------------------------------------------------

    def show_whole(self) -> None:
        """Show the whole recording."""
        if self._whole is not None:
            time, pitch = self._whole
            self.look_at(time, (0.0, min(pitch[1], 4000.0)))

    def look_at(self, time_s: Span, pitch_hz: Span) -> None:
        """Show a stretch of time and pitch."""
        self.box.setRange(xRange=time_s, yRange=pitch_hz, padding=0.0)

    def zoom(self, time_factor: float, pitch_factor: float) -> None:
        """Zoom around the middle; below 1 comes nearer."""
        self.box.scaleBy((time_factor, pitch_factor))

    def show_rungs(self, rungs: Sequence[Rung]) -> None:
        """Draw the pitch ladder."""
        self.ladder.show_rungs(rungs)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        (x0, x1), (y0, y1) = self.box.viewRange()
        dx, dy = _PAN_STEP * (x1 - x0), _PAN_STEP * (y1 - y0)
        key = event.key()
        ctrl = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        moves = {
            Qt.Key.Key_Left: (-dx, 0.0),
            Qt.Key.Key_Right: (dx, 0.0),
            Qt.Key.Key_Down: (0.0, -dy),
            Qt.Key.Key_Up: (0.0, dy),
        }
        if key in moves:
            self.box.translateBy(moves[Qt.Key(key)])
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(*((1.0, _ZOOM_STEP) if ctrl else (_ZOOM_STEP, 1.0)))
        elif key == Qt.Key.Key_Minus:
            self.zoom(*((1.0, 1 / _ZOOM_STEP) if ctrl else (1 / _ZOOM_STEP, 1.0)))
        elif key == Qt.Key.Key_Home:
            self.show_whole()
        else:
            super().keyPressEvent(event)
            return
        self.moved_by_hand.emit()
        event.accept()

    def _ask(self) -> None:
        if self._whole is None:
            return
        (x0, x1), (y0, y1) = self.box.viewRange()
        low = max(y0, 0.0)
        if x1 <= x0 or y1 <= low:
            return
        size = self.box.size()
        ratio = self.devicePixelRatioF()
        self.picture_wanted.emit(
            PictureRequest(
                x0,
                x1,
                low,
                y1,
                min(max(32, round(size.width() * ratio)), MAX_COLUMNS),
                min(max(32, round(size.height() * ratio)), MAX_ROWS),
                self._window_s,
            )
        )


def _image(plot: pg.PlotItem, z: float) -> pg.ImageItem:
    image = pg.ImageItem(axisOrder="row-major", autoDownsample=False)
    image.setZValue(z)
    plot.addItem(image, ignoreBounds=True)
    image.hide()
    return image


def _show(image: pg.ImageItem, picture: Picture) -> None:
    request = picture.request
    image.setImage(picture.levels, autoLevels=False, levels=(0, 255))
    image.setRect(
        QRectF(
            request.start_s,
            request.low_hz,
            request.stop_s - request.start_s,
            request.high_hz - request.low_hz,
        )
    )
    image.show()
