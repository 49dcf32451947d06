"""One marker beside the picture: its crossing, the frames marked, and its place on the ground."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wayside.film.marked import MarkerReading
from wayside.film.marks import Marker, Sighting, Typed
from wayside.hand.units import Dimension
from wayside_app.window import figures
from wayside_app.window.controls import restyle, text_label
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.film.offers import Offers
from wayside_app.window.film.typed_row import TypedRow
from wayside_app.window.words import said


class MarkerCard(QFrame):
    """Shows one marker; the picked one with everything that can be done to it."""

    def __init__(
        self, at: int, desk: FilmDesk, offers: Offers, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._at, self._desk, self._offers = at, desk, offers
        self._visit = 0
        self.setProperty("part", "expect")
        n = at + 1
        self.name = QPushButton(self.tr("Marker {n}").format(n=n), self)
        self.name.setProperty("part", "fold")
        self.name.setToolTip(self.tr("Pick this marker (key {n})").format(n=n))
        self.time = text_label("hand-value", "")
        self.time.setAccessibleName(self.tr("crossing of marker {n}").format(n=n))
        self.method = text_label("quiet", "", wrap=True)
        self.fault = text_label("fault", "", wrap=True)
        self.more = QWidget(self)
        self.more.setProperty("part", "plain")
        self.before = QPushButton(self.tr("Last frame before (B)"), self)
        self.after = QPushButton(self.tr("First frame after (A)"), self)
        self.before_time = text_label("", "")
        self.after_time = text_label("", "")
        self.flip = QPushButton(self.tr("Flip (F)"), self)
        self.flip.setToolTip(self.tr("To and fro between the two frames"))
        self.spot = QPushButton(self.tr("Mark wheel (W)"), self)
        self.spot.setToolTip(
            self.tr(
                "With the watched point marked in both frames, the crossing is interpolated "
                "between them."
            )
        )
        self.remove = QPushButton(self.tr("Remove"), self)
        self.place = TypedRow(
            self.tr("Place of marker {n}, from marker 1").format(n=n), Dimension.LENGTH, self
        )
        self.at_camera = QPushButton(self)
        self.at_camera.setCheckable(True)
        self.at_camera.setProperty("part", "hand-choice")
        self.at_camera.setToolTip(
            self.tr(
                "Then film and sound can be compared: both tell when the vehicle passed the camera."
            )
        )
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setSpacing(6)
        head.addWidget(self.name)
        head.addStretch(1)
        head.addWidget(self.time)
        marks = QGridLayout()
        marks.setHorizontalSpacing(6)
        marks.setVerticalSpacing(4)
        for row, (button, time) in enumerate(
            ((self.before, self.before_time), (self.after, self.after_time))
        ):
            marks.addWidget(button, row, 0)
            marks.addWidget(time, row, 1)
        marks.setColumnStretch(1, 1)
        doings = QHBoxLayout()
        doings.setSpacing(4)
        for button in (self.flip, self.spot, self.remove):
            doings.addWidget(button)
        doings.addStretch(1)
        inner = QVBoxLayout(self.more)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(5)
        inner.addLayout(marks)
        inner.addLayout(doings)
        inner.addWidget(self.place)
        inner.addWidget(self.at_camera)
        box = QVBoxLayout(self)
        box.setContentsMargins(10, 4, 8, 6)
        box.setSpacing(3)
        box.addLayout(head)
        box.addWidget(self.method)
        box.addWidget(self.fault)
        box.addWidget(self.more)
        self.place.setVisible(self._at > 0)

    def _connect(self) -> None:
        desk = self._desk
        self.name.clicked.connect(lambda: desk.choose(self._at))
        self.before.clicked.connect(lambda: desk.mark("before"))
        self.after.clicked.connect(lambda: desk.mark("after"))
        self.flip.clicked.connect(self._flip)
        self.spot.clicked.connect(desk.begin_spot)
        self.remove.clicked.connect(desk.remove_marker)
        self.place.edited.connect(self._placed)
        self.place.settled.connect(self._end_typing)
        self.at_camera.clicked.connect(self._camera)

    def show_marker(self, marker: Marker, reading: MarkerReading | None) -> None:
        """Show a marker and what follows from it."""
        picked = self._desk.marker == self._at
        self.more.setVisible(picked)
        restyle(self, picked=picked)
        crossing = None if reading is None else reading.crossing
        self.time.setText("" if crossing is None else figures.full(crossing.time))
        how = self._how(reading)
        if self._at == 0 and picked:
            how = " ".join((how, self.tr("Places are counted from this marker.")))
        self.method.setText(how)
        self.method.setVisible(bool(self.method.text()))
        fault = "" if reading is None else reading.fault
        if crossing is not None and crossing.note:
            fault = crossing.note
        self.fault.setText(f"⚠ {said(fault)}" if fault else "")
        self.fault.setVisible(bool(fault))
        self.before_time.setText(_seen(marker.before))
        self.after_time.setText(_seen(marker.after))
        place = None if reading is None else reading.place
        hint = ""
        if place is not None and marker.place.blank:
            hint = self.tr("{d} (form)").format(d=figures.plain(place.value, 2))
        self.place.show_typed(
            marker.place, "" if reading is None else reading.place_fault, hint
        )  # fmt: skip
        self.at_camera.setChecked(marker.at_camera)
        sign = "✓ " if marker.at_camera else ""
        self.at_camera.setText(sign + self.tr("Straight in front of the camera"))

    def _how(self, reading: MarkerReading | None) -> str:
        if reading is None or reading.fault:
            return ""
        if reading.missing == ("before", "after"):
            return self.tr("Find the crossing, then mark the two frames around it.")
        if "before" in reading.missing:
            return self.tr("Still needed: the last frame before.")
        if "after" in reading.missing:
            return self.tr("Still needed: the first frame after.")
        if reading.crossing is not None and reading.crossing.method == "interpolated":
            return self.tr("interpolated between the two marked places of the wheel")
        return self.tr("anywhere between the two frames")

    def _flip(self) -> None:
        if not self._offers.flip():
            self._desk.flip()

    def _placed(self, typed: Typed) -> None:
        marker = replace(self._desk.marks.markers[self._at], place=typed)
        name = self.tr("place of marker {n}").format(n=self._at + 1)
        self._desk.change_marker(self._at, marker, name, f"film place {self._at} {self._visit}")

    def _end_typing(self) -> None:
        self._visit += 1
        self._desk.marks_changed.emit()

    def _camera(self, checked: bool) -> None:
        markers = self._desk.marks.markers
        marks = self._desk.marks
        for k, marker in enumerate(markers):
            # only one marker can stand straight in front
            wanted = checked and k == self._at
            if marker.at_camera != wanted:
                marks = marks.with_marker(k, replace(marker, at_camera=wanted))
        name = self.tr("say that marker {n} is in front of the camera").format(n=self._at + 1)
        self._desk.change(marks, name)


def _seen(sighting: Sighting | None) -> str:
    if sighting is None:
        return "–"
    ring = " ◎" if sighting.spot is not None else ""
    return f"{figures.plain(sighting.time_s, 3)} s{ring}"
