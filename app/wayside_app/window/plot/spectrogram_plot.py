"""The spectrogram with its curves, reading windows and pitch ladder on one pitch axis."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent
from PySide6.QtWidgets import QWidget

from wayside.session.session import Span
from wayside.sound.spectrogram import MAX_COLUMNS, MAX_ROWS, Picture, PictureRequest
from wayside_app.window.plot.cursor import Cursor
from wayside_app.window.plot.curves import LINE_PX, Overlays
from wayside_app.window.plot.ink import level_range, tones
from wayside_app.window.plot.ladder import Ladder, Rung
from wayside_app.window.plot.number_axis import NumberAxis
from wayside_app.window.plot.pitch_scale import HERTZ, LOWEST_HZ, PitchAxis, PitchScale
from wayside_app.window.plot.reading_window import ReadingWindowItem
from wayside_app.window.theme.looks import LIGHT, Look

_SETTLE_MS = 60
_ZOOM_STEP = 0.8
_PAN_STEP = 0.1
_CURSOR_STEP = 0.01
_LADDER_WIDTH = 190
_GAP = 6
_LEAST_HEIGHT = 170
_WHOLE_HZ = 4000.0

STAGE_LINE_PX = 4.5
_STILL_KEYS = (Qt.Key.Key_C, Qt.Key.Key_H, Qt.Key.Key_Space)


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
    scale_changed()
        Pitches lie elsewhere now: whatever is drawn over the picture is to be drawn again.
    play_wanted()
        The key for playing was pressed.
    tones_set(quiet, loud)
        Other levels are paper and full ink.
    """

    picture_wanted = Signal(object)
    moved_by_hand = Signal()
    scale_changed = Signal()
    play_wanted = Signal()
    tones_set = Signal(int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(self.tr("Spectrogram"))
        self.setMinimumHeight(_LEAST_HEIGHT)
        self.scale_ = HERTZ
        self.box = TimePitchBox()
        self._axis = PitchAxis()
        self.plot: pg.PlotItem = self.addPlot(
            0, 0, viewBox=self.box, axisItems={"left": self._axis, "bottom": NumberAxis("bottom")}
        )
        self._ladder_plot: pg.PlotItem = self.addPlot(0, 1, viewBox=TimePitchBox())
        for plot in (self.plot, self._ladder_plot):
            plot.hideButtons()
            # the library's own menus are not used; given a parent they go when it goes
            plot.setMenuEnabled(False)
            plot.ctrlMenu.setParent(self, Qt.WindowType.Popup)
        self._ladder_plot.setYLink(self.plot)
        self.ladder = Ladder(self._ladder_plot)
        layout = self.ci.layout
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setHorizontalSpacing(_GAP)
        layout.setColumnStretchFactor(0, 1)
        layout.setColumnStretchFactor(1, 0)
        self._overview = _image(self.plot, -20.0)
        self._detail = _image(self.plot, -10.0)
        self.overlays = Overlays(self.plot)
        self.approach = ReadingWindowItem(self.plot, self.tr("approach"), self)
        self.recede = ReadingWindowItem(self.plot, self.tr("recede"), self)
        self.cursor_ = Cursor(self.plot, self)
        self._playing = pg.InfiniteLine(angle=90)
        self._playing.setZValue(48.0)
        self._playing.hide()
        self.plot.addItem(self._playing, ignoreBounds=True)
        self._look = LIGHT
        self.levels = (0, 255)
        self._whole: Picture | None = None
        self.picture: Picture | None = None
        self._straight = False
        self._on_stage = False
        self._window_s = 0.085
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(_SETTLE_MS)
        self._settle.timeout.connect(self._ask)
        self.box.sigRangeChanged.connect(lambda *_: self._settle.start())
        self.box.sigRangeChangedManually.connect(lambda *_: self.moved_by_hand.emit())
        self.scene().sigMouseMoved.connect(self.cursor_.follow)
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
        metrics = QFontMetrics(font)
        self.plot.showAxis("top")
        for side in ("bottom", "left", "top"):
            axis = self.plot.getAxis(side)
            axis.enableAutoSIPrefix(False)
            axis.setPen(look.rule)
            axis.setTextPen(look.text)
            axis.setTickFont(font)
        self.plot.getAxis("top").setStyle(showValues=False, tickLength=0)
        self._axis.setWidth(self.left_width(metrics))
        # equal margins above and below keep both pitch axes in line
        line = metrics.height()
        for plot in (self.plot, self._ladder_plot):
            plot.getAxis("top").setHeight(line + 4)
            plot.getAxis("bottom").setHeight(2 * line + 8)
        self.overlays.set_look(look, font)
        bold = QFont(font)
        bold.setBold(True)
        for window in (self.approach, self.recede):
            window.set_look(look, bold)
        self.ladder.set_look(look, bold)
        self.cursor_.set_look(look)
        self._playing.setPen(pg.mkPen(look.focus, width=2))
        self._ladder_plot.setFixedWidth(self.ladder_width(bold))
        self._paint_tones()

    def left_width(self, metrics: QFontMetrics) -> float:
        """Return the width of the pitch axis."""
        return metrics.horizontalAdvance("A♭4  4444") + 1.2 * metrics.height()

    def ladder_width(self, font: QFont) -> float:
        """Return the width of the ladder."""
        return max(_LADDER_WIDTH, 2.4 * QFontMetrics(font).horizontalAdvance("0000.0"))

    @property
    def right_width(self) -> float:
        """Width of what lies right of the picture."""
        return float(self._ladder_plot.minimumWidth()) + _GAP

    def set_tones(self, quiet: int, loud: int) -> None:
        """Choose which levels are paper and which are full ink."""
        self.levels = (quiet, loud)
        self._paint_tones()
        self.tones_set.emit(quiet, loud)

    def use_scale(self, scale: PitchScale) -> None:
        """Take another pitch scale, keeping the view."""
        if scale == self.scale_:
            return
        time, places = self.box.viewRange()
        pitches = (self.scale_.pitch(places[0]), self.scale_.pitch(places[1]))
        self.scale_ = scale
        self._axis.use(scale)
        self.cursor_.use(scale)
        self.ladder.use(scale)
        self._limit()
        self._show_overview()
        self._detail.hide()
        self.look_at((time[0], time[1]), pitches)
        self.scale_changed.emit()
        self._settle.start()

    def _paint_tones(self) -> None:
        table = tones(self._look, *self.levels)
        for image in (self._overview, self._detail):
            image.setLookupTable(table)

    # --- pictures -----------------------------------------------------------------------

    def show_overview(self, picture: Picture) -> None:
        """Show another recording as a whole."""
        self._detail.hide()
        self.picture = None
        self._whole = picture
        self._show_overview()
        self._limit()
        self.set_tones(*level_range(picture))
        self.show_whole()

    def show_detail(self, picture: Picture) -> None:
        """Lay a sharper picture of the view over the overview."""
        if picture.request.log_pitch == self.scale_.octaves:
            self.picture = picture
            self._put(self._detail, picture, picture.levels)

    def clear_pictures(self) -> None:
        """Show no recording."""
        self._overview.hide()
        self._detail.hide()
        self._whole = self.picture = None

    def set_stage(self, on_stage: bool) -> None:
        """Draw for a class: thicker curves, and no reading windows."""
        self.overlays.line_px = STAGE_LINE_PX if on_stage else LINE_PX
        self._on_stage = on_stage
        self._suppress_windows()

    def _suppress_windows(self) -> None:
        for window in (self.approach, self.recede):
            window.suppress(self._on_stage or self._straight)

    def show_playing(self, time_s: float) -> None:
        """Mark where the sound is now."""
        self._playing.setPos(time_s)
        self._playing.show()

    def hide_playing(self) -> None:
        """Nothing plays any more."""
        self._playing.hide()

    def sharpen(self, window_s: float) -> None:
        """Choose the frame length of pictures still to come (s)."""
        if window_s != self._window_s:
            self._window_s = window_s
            self._settle.start()

    def straighten(self, straight: bool) -> None:
        """Show the rider's frame: other times, so overview and reading windows do not fit."""
        if straight == self._straight:
            return
        self._straight = straight
        self._detail.hide()
        self.picture = None
        self._show_overview()
        self._suppress_windows()
        self.scale_changed.emit()
        self._settle.start()

    def redraw(self) -> None:
        """Ask for the picture again: it is of another sound now."""
        self._settle.start()

    def level_db(self, time_s: float, pitch_hz: float) -> float | None:
        """Return the level drawn at a place (dB), None where nothing is drawn."""
        if self.picture is None:
            return None
        request, levels = self.picture.request, self.picture.levels
        low, high, y = (
            float(self.scale_.place(hz)) for hz in (request.low_hz, request.high_hz, pitch_hz)
        )
        share = (time_s - request.start_s) / (request.stop_s - request.start_s)
        column = int(share * request.columns)
        row = int((y - low) / (high - low) * request.rows)
        if 0 <= column < levels.shape[1] and 0 <= row < levels.shape[0]:
            return self.picture.level_db(row, column)
        return None

    def _show_overview(self) -> None:
        picture = self._whole
        self._overview.hide()
        if picture is None or self._straight:
            return
        levels, request = picture.levels, picture.request
        if self.scale_.octaves:
            wanted = np.geomspace(LOWEST_HZ, request.high_hz, request.rows)
            step = (request.high_hz - request.low_hz) / request.rows
            rows = ((wanted - request.low_hz) / step).astype(int)
            levels = np.ascontiguousarray(levels[np.clip(rows, 0, request.rows - 1)])
        self._put(self._overview, picture, levels)

    def _put(self, image: pg.ImageItem, picture: Picture, levels: object) -> None:
        request = picture.request
        image.setImage(levels, autoLevels=False, levels=(0, 255))
        low, high = (float(self.scale_.place(hz)) for hz in (request.low_hz, request.high_hz))
        image.setRect(QRectF(request.start_s, low, request.stop_s - request.start_s, high - low))
        image.show()

    # --- view ---------------------------------------------------------------------------

    def show_whole(self) -> None:
        """Show the whole recording."""
        if self._whole is not None:
            request = self._whole.request
            self.look_at((request.start_s, request.stop_s), (0.0, min(request.high_hz, _WHOLE_HZ)))

    def look_at(self, time_s: Span, pitch_hz: Span) -> None:
        """Show a stretch of time and pitch."""
        low, high = (float(self.scale_.place(hz)) for hz in pitch_hz)
        self.box.setRange(xRange=time_s, yRange=(low, high), padding=0.0)

    def zoom(self, time_factor: float, pitch_factor: float) -> None:
        """Zoom around the middle; below 1 comes nearer."""
        self.box.scaleBy((time_factor, pitch_factor))

    def show_rungs(self, rungs: Sequence[Rung]) -> None:
        """Draw the pitch ladder."""
        self.ladder.show_rungs(rungs)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        modifiers = event.modifiers()
        shift = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
        ctrl = bool(modifiers & Qt.KeyboardModifier.ControlModifier)
        key = event.key()
        arrows = {
            Qt.Key.Key_Left: (-1.0, 0.0),
            Qt.Key.Key_Right: (1.0, 0.0),
            Qt.Key.Key_Down: (0.0, -1.0),
            Qt.Key.Key_Up: (0.0, 1.0),
        }
        if key in arrows:
            self._arrow(*arrows[Qt.Key(key)], to_cursor=shift)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(*((1.0, _ZOOM_STEP) if ctrl else (_ZOOM_STEP, 1.0)))
        elif key == Qt.Key.Key_Minus:
            self.zoom(*((1.0, 1 / _ZOOM_STEP) if ctrl else (1 / _ZOOM_STEP, 1.0)))
        elif key == Qt.Key.Key_Home:
            self.show_whole()
        elif key == Qt.Key.Key_Space:
            self.play_wanted.emit()
        elif key == Qt.Key.Key_C and not ctrl:
            self.cursor_.toggle()
        elif key == Qt.Key.Key_H and not ctrl:
            self.cursor_.toggle_harmonics()
        else:
            super().keyPressEvent(event)
            return
        if key not in _STILL_KEYS and not (shift and key in arrows):
            self.moved_by_hand.emit()
        event.accept()

    def _arrow(self, right: float, up: float, to_cursor: bool) -> None:
        (x0, x1), (y0, y1) = self.box.viewRange()
        step = _CURSOR_STEP if to_cursor else _PAN_STEP
        dx, dy = right * step * (x1 - x0), up * step * (y1 - y0)
        if not to_cursor:
            self.box.translateBy((dx, dy))
            return
        cursor = self.cursor_
        if not cursor.shown:
            cursor.toggle()
        place = float(self.scale_.place(cursor.pitch_hz)) + dy
        cursor.put(cursor.time_s + dx, self.scale_.pitch(place))

    def _limit(self) -> None:
        if self._whole is None:
            return
        request = self._whole.request
        length = request.stop_s - request.start_s
        low, high = LOWEST_HZ if self.scale_.octaves else 0.0, 1e6
        self.box.setLimits(
            xMin=request.start_s - 0.1 * length,
            xMax=request.stop_s + 0.1 * length,
            yMin=float(self.scale_.place(low)),
            yMax=float(self.scale_.place(high)),
            minXRange=0.02,
            minYRange=0.01 if self.scale_.octaves else 2.0,
        )

    def _ask(self) -> None:
        if self._whole is None:
            return
        (x0, x1), places = self.box.viewRange()
        low, high = (self.scale_.pitch(place) for place in places)
        low = max(low, LOWEST_HZ if self.scale_.octaves else 0.0)
        if x1 <= x0 or high <= low:
            return
        size, ratio = self.box.size(), self.devicePixelRatioF()
        self.picture_wanted.emit(
            PictureRequest(
                x0,
                x1,
                low,
                high,
                min(max(32, round(size.width() * ratio)), MAX_COLUMNS),
                min(max(32, round(size.height() * ratio)), MAX_ROWS),
                self._window_s,
                log_pitch=self.scale_.octaves,
            )
        )


def _image(plot: pg.PlotItem, z: float) -> pg.ImageItem:
    image = pg.ImageItem(axisOrder="row-major", autoDownsample=False)
    image.setZValue(z)
    plot.addItem(image, ignoreBounds=True)
    image.hide()
    return image
