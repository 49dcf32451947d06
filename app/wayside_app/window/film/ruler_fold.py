"""A known length in the picture, and the distances that follow from it."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QPushButton, QWidget

from wayside.film.geometry import PERSPECTIVE_CAUTION, Point
from wayside.film.marked import FilmReading, distance_by_scale
from wayside.film.marks import Typed
from wayside.hand import digits
from wayside.hand.units import Dimension
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.film.fold import Fold
from wayside_app.window.film.typed_row import TypedRow
from wayside_app.window.words import said


class RulerFold(Fold):
    """A known length in the picture."""

    def __init__(self, desk: FilmDesk, parent: QWidget | None = None) -> None:
        super().__init__(_tr("A known length in the picture"), False, parent)
        self._desk = desk
        self._visit = 0
        self.caution = self.words(said(PERSPECTIVE_CAUTION))
        self.lay = QPushButton(_tr("Lay a ruler on the picture"), self)
        self.remove = QPushButton(_tr("Take it away"), self)
        self.length = TypedRow(_tr("Length between its ends"), Dimension.LENGTH, self)
        for part in (self.lay, self.length):
            self.column.addWidget(part)
        self.result = self.words()
        self.use = QPushButton(_tr("Use as the markers' places"), self)
        for part in (self.use, self.remove):
            self.column.addWidget(part)
        self.lay.clicked.connect(self._lay)
        self.use.clicked.connect(self._use)
        self.remove.clicked.connect(self._remove)
        self.length.edited.connect(self._typed)
        self.length.settled.connect(self._settled)

    def show_ruler(self, reading: FilmReading | None) -> None:
        """Show the ruler and the distances that follow from it."""
        marks = self._desk.marks
        ruler = marks.ruler
        self.lay.setVisible(ruler is None)
        for part in (self.length, self.remove):
            part.setVisible(ruler is not None)
        text = ""
        usable = reading is not None and reading.scale is not None and len(marks.markers) > 1
        self.use.setVisible(usable)
        if ruler is not None:
            self.length.show_typed(ruler.length, "" if reading is None else reading.scale_fault)
        if ruler is not None and reading is not None and reading.scale is not None:
            scale = reading.scale
            per_px = scale.metres_per_px
            told = [figures.full(Quantity(1e3 * per_px.value, 1e3 * per_px.u, _tr("mm a pixel")))]
            for k, far in enumerate(distance_by_scale(marks, scale) if marks.markers else []):
                if k:
                    told.append(_tr("marker 1 to {n}: {d}").format(n=k + 1, d=figures.full(far)))
            text = "; ".join(told)
        self.result.setText(text)
        self.result.setVisible(bool(text))

    def _lay(self) -> None:
        film = self._desk.source.film
        if film is None:
            return
        w, h = film.info.width, film.info.height
        left, right = (Point(round(share * w), round(0.9 * h)) for share in (0.3, 0.7))
        self._desk.lay_ruler(left, right)

    def _use(self) -> None:
        marks, reading = self._desk.marks, self._desk.reading
        if reading is None or reading.scale is None:
            return
        for k, far in enumerate(distance_by_scale(marks, reading.scale)):
            if k:
                places = max(0, digits.decimals(far.u))
                place = Typed(f"{far.value:.{places}f}", "m", f"{far.u:.{places}f}")
                marks = marks.with_marker(k, replace(marks.markers[k], place=place))
        self._desk.change(marks, _tr("take the places from the ruler"))

    def _remove(self) -> None:
        self._desk.change(replace(self._desk.marks, ruler=None), _tr("take the ruler away"))

    def _typed(self, typed: Typed) -> None:
        marks = self._desk.marks
        if marks.ruler is not None:
            marks = replace(marks, ruler=replace(marks.ruler, length=typed))
            self._desk.change(marks, _tr("change the known length"), f"film ruler {self._visit}")

    def _settled(self) -> None:
        self._visit += 1


def _tr(text: str) -> str:
    return QCoreApplication.translate("FilmFolds", text)
