"""The frame on show, with the marker lines: zoom, pan, and dragging with the mouse."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from wayside.film.geometry import Line, Point
from wayside.film.info import Picture
from wayside_app.window import figures
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.film.grip import grip_at
from wayside_app.window.film.moving import FOOT, LINE, SPOT, TOP, Pick
from wayside_app.window.film.offers import Offers
from wayside_app.window.film.painting import (
    Ink,
    draw_flag,
    draw_handle,
    draw_line,
    draw_ring,
    draw_ruler,
)
from wayside_app.window.film.view_map import Frame, ViewMap
from wayside_app.window.theme.looks import LIGHT, Look

_ZOOM_STEP = 1.25
_PAN_PX = 60.0
_SHARP_FROM = 2.0
_LEAST = QSize(300, 200)


class PictureView(QWidget):
    """Shows one frame and lets hands move what lies on it."""

    def __init__(self, desk: FilmDesk, offers: Offers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self._offers = desk, offers
        self._picture: Picture | None = None
        self._image: QImage | None = None
        self._map: ViewMap | None = None
        self._look: Look = LIGHT
        self._font = QFont()
        self._grip: Pick | None = None
        self._start: QPointF | None = None
        self._last: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(_LEAST)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(self.tr("Picture of the film"))
        self.zoom_buttons = [
            self._button("+", self.tr("Zoom in (key +)"), lambda: self.zoom(1)),
            self._button("−", self.tr("Zoom out (key −)"), lambda: self.zoom(-1)),
            self._button(self.tr("all"), self.tr("Whole picture (key 0)"), self.show_whole),
        ]
        desk.source.shown.connect(self._take)
        desk.source.opened.connect(self._film_changed)
        desk.marks_changed.connect(self.update)
        desk.frame_changed.connect(self.update)
        offers.changed.connect(self.update)

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self._look = look
        self._font = QFont(font)
        self._font.setBold(True)
        self._place_buttons()
        self.update()

    def _button(self, text: str, name: str, call: Callable[[], None]) -> QPushButton:
        button = QPushButton(text, self)
        button.setAccessibleName(name)
        button.setToolTip(name)
        button.setStyleSheet("padding: 0px")
        button.clicked.connect(lambda checked=False: call())
        button.setCursor(Qt.CursorShape.ArrowCursor)
        return button

    def _place_buttons(self) -> None:
        side = round(2.2 * QFontMetricsF(self._font).height())
        for k, button in enumerate(self.zoom_buttons):
            button.setGeometry(self.width() - side - 8, 8 + k * (side + 4), side, side)

    # --- view ---------------------------------------------------------------------------

    @property
    def frame(self) -> Frame | None:
        """Sizes of the film and of the view; None without a film."""
        film = self._desk.source.film
        if film is None:
            return None
        return Frame(film.info.width, film.info.height, self.width(), self.height())

    @property
    def map(self) -> ViewMap | None:
        """The zoom and place now."""
        frame = self.frame
        if frame is None:
            return None
        return frame.whole if self._map is None else self._map

    @property
    def shown(self) -> Picture | None:
        """The frame that is painted."""
        return self._picture

    def show_whole(self) -> None:
        """Show the whole picture."""
        self._set_map(None)

    def zoom(self, steps: int, about: QPointF | None = None) -> None:
        """Come nearer (positive) or go back, about a place in the view.

        Without a place, about what is picked, so that it can be put precisely by key.
        """
        frame, now = self.frame, self.map
        if frame is None or now is None:
            return
        place = about or self._picked_place(now) or QPointF(self.width() / 2, self.height() / 2)
        self._set_map(frame.zoomed(now, _ZOOM_STEP**steps, place.x(), place.y()))

    def pan(self, x: int, y: int) -> None:
        """Move the picture by a step."""
        frame, now = self.frame, self.map
        if frame is not None and now is not None:
            self._set_map(frame.moved(now, -x * _PAN_PX, -y * _PAN_PX))

    def new_line(self) -> Line:
        """Return an upright line in the middle of what is seen, over its middle half."""
        now, frame = self.map, self.frame
        assert now is not None
        assert frame is not None
        top, foot = (now.to_film(self.width() / 2, share * self.height()) for share in (0.3, 0.8))
        low, high = max(0.0, top.y), min(float(frame.film_height), foot.y)
        return Line.vertical(round(top.x), round(low), round(high))

    def line_at(self, place: QPointF) -> Line | None:
        """Return an upright line whose foot is at a place in the view; None if it is outside."""
        now, frame = self.map, self.frame
        if now is None or frame is None:
            return None
        foot = now.to_film(place.x(), place.y())
        if not (0 <= foot.x <= frame.film_width and 0 <= foot.y <= frame.film_height):
            return None
        height = min(0.35 * frame.film_height, 0.5 * self.height() / now.scale)
        top = max(0.0, foot.y - height)
        return Line.vertical(foot.x, top, max(foot.y, top + 4.0))

    def _set_map(self, new: ViewMap | None) -> None:
        frame = self.frame
        if frame is not None and new is not None and new.scale <= frame.whole.scale * 1.001:
            new = None
        self._map = new
        self._tell_fineness()
        self.update()

    def _tell_fineness(self) -> None:
        now = self.map
        if now is not None:
            picture = self._picture
            shrink = 1.0 if picture is None else picture.shrink
            self._desk.fineness_px = max(1.0 / now.scale, 1.0 / shrink)

    def _picked_place(self, now: ViewMap) -> QPointF | None:
        desk = self._desk
        if desk.pending is not None:
            return QPointF(*now.to_view(desk.pending))
        marker = desk.picked_marker
        if desk.pick is None or marker is None or desk.pick.marker < 0:
            return None
        return QPointF(*now.to_view(marker.line.stop))

    def _film_changed(self) -> None:
        self._picture = self._image = self._map = None
        self._tell_fineness()
        self.update()

    def _take(self, picture: Picture) -> None:
        height, width, _ = picture.rgb.shape
        # the image does not copy the pixels, so the picture is kept beside it
        self._picture = picture
        self._image = QImage(
            picture.rgb.data, width, height, 3 * width, QImage.Format.Format_RGB888
        )
        self._tell_fineness()
        self.update()

    # --- painting -----------------------------------------------------------------------

    def sizeHint(self) -> QSize:
        return QSize(640, 420)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        frame = self.frame
        if frame is not None and self._map is not None:
            self._map = frame.kept(self._map)
        self._tell_fineness()
        self._place_buttons()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(self._look.page))
        now = self.map
        if now is not None and self._image is not None:
            self._paint_picture(painter, now, self._image)
            self._paint_marks(Ink(painter, self._look, self._font, now))
        if self.hasFocus():
            painter.setPen(QColor(self._look.focus))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
            painter.drawRect(self.rect().adjusted(1, 1, -2, -2))
        painter.end()

    def _paint_picture(self, painter: QPainter, now: ViewMap, image: QImage) -> None:
        frame = self.frame
        assert frame is not None
        target = QRectF(
            now.left, now.top, frame.film_width * now.scale, frame.film_height * now.scale
        )
        fewer = image.width() / frame.film_width
        smooth = now.scale / max(fewer, 1e-6) < _SHARP_FROM
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, smooth)
        painter.drawImage(target, image, QRectF(image.rect()))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)

    def _paint_marks(self, ink: Ink) -> None:
        desk = self._desk
        offer = self._offers.current
        marks = desk.marks
        if marks.ruler is not None:
            text = f"{figures.typed(marks.ruler.length.text)} {marks.ruler.length.unit}".strip()
            named = text if marks.ruler.length.text.strip() else self.tr("known length?")
            draw_ruler(ink, marks.ruler.start, marks.ruler.stop, named)
        for k, marker in enumerate(marks.markers):
            picked = k == desk.marker
            proposed = offer is not None and offer.marker == k
            line = marker.line
            draw_line(ink, line.start, line.stop, picked=picked, proposed=proposed)
            if picked:
                part = desk.pick.part if desk.pick is not None else ""
                draw_handle(ink, line.start, filled=part == TOP)
                draw_handle(ink, line.stop, filled=part == FOOT)
            upper = min((line.start, line.stop), key=lambda end: end.y)
            draw_flag(ink, upper, str(k + 1), picked=picked)
        self._paint_rings(ink)

    def _paint_rings(self, ink: Ink) -> None:
        desk = self._desk
        marker = desk.picked_marker
        if marker is None:
            return
        here = desk.sighting_here(marker)
        for name in ("before", "after"):
            sighting = marker.sighting(name)
            if sighting is None or sighting.spot is None:
                continue
            if name == here and desk.pending is not None:
                continue
            draw_ring(ink, sighting.spot, faint=name != here, unset=False)
        if desk.pending is not None:
            draw_ring(ink, desk.pending, faint=False, unset=True)

    # --- hands --------------------------------------------------------------------------

    def _ring(self) -> Point | None:
        sighting = self._desk.sighting_now
        if self._desk.pending is not None or sighting is None:
            return self._desk.pending
        return sighting.spot

    def _grip_at(self, place: QPointF) -> Pick | None:
        now = self.map
        if now is None:
            return None
        desk = self._desk
        return grip_at(desk.marks, now, place.x(), place.y(), desk.marker, self._ring())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self.map is None:
            return
        self._start = self._last = event.position()
        self._grip = self._grip_at(event.position())
        if self._grip is None:
            return
        if self._grip.marker < 0:
            self._desk.choose_ruler(self._grip.part)
        elif self._grip.part == SPOT:
            if self._desk.pending is None:
                self._desk.begin_spot()
        else:
            self._desk.choose(self._grip.marker, self._grip.part)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        now, frame = self.map, self.frame
        if now is None or frame is None or self._start is None or self._last is None:
            self._show_cursor(event.position())
            return
        place = event.position()
        step = place - self._last
        self._last = place
        if self._grip is None:
            self._set_map(frame.moved(now, step.x(), step.y()))
        elif self._grip.part == SPOT:
            self._desk.move_pending(step.x() / now.scale, step.y() / now.scale)
        else:
            whole = place - self._start
            self._desk.preview(self._grip, whole.x() / now.scale, whole.y() / now.scale)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._start is None:
            return
        grip, self._grip, self._start, self._last = self._grip, None, None, None
        if grip is None:
            return
        if grip.part == SPOT:
            self._desk.set_spot()
        else:
            self._desk.finish_preview(grip)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() != Qt.MouseButton.LeftButton or self._grip_at(event.position()):
            return
        line = self.line_at(event.position())
        if line is not None:
            self._desk.add_marker(line)

    def wheelEvent(self, event: QWheelEvent) -> None:
        notches = event.angleDelta().y() / 120.0
        if notches:
            self.zoom(round(notches) or (1 if notches > 0 else -1), event.position())
        event.accept()

    def _show_cursor(self, place: QPointF) -> None:
        grip = self._grip_at(place)
        if grip is None:
            can_pan = self._map is not None
            shape = Qt.CursorShape.OpenHandCursor if can_pan else Qt.CursorShape.ArrowCursor
        elif grip.part == LINE:
            shape = Qt.CursorShape.SizeHorCursor
        else:
            shape = Qt.CursorShape.SizeAllCursor
        self.setCursor(shape)
