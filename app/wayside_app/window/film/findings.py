"""What the marks tell, under the picture: speed, steadiness, and picture against sound."""

from __future__ import annotations

import itertools
import math

from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from wayside.film.marked import FilmReading
from wayside.film.together import Together
from wayside.session.film_times import holds, takes_times
from wayside_app.window import figures
from wayside_app.window.controls import restyle, text_label
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.words import said


class Findings(QFrame):
    """Two rows: by hand (speed and its use in the form), and picture against sound."""

    def __init__(self, desk: FilmDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.setProperty("part", "plain")
        self.speed = text_label("hand-value", "", wrap=True)
        self.speed.setAccessibleName(self.tr("speed from the film"))
        self.steady = text_label("", "", wrap=True)
        self.into_form = QPushButton(self.tr("Put the times into the form"), self)
        self.in_form = text_label("quiet", "")
        self.passing = text_label("sound-value", "", wrap=True)
        self.check = text_label("", "", wrap=True)
        self.basis = text_label("quiet", "", wrap=True)
        self.go = QPushButton(self.tr("Go there (G)"), self)
        by_hand = QHBoxLayout()
        by_hand.setSpacing(10)
        by_hand.addWidget(self.speed, 1)
        by_hand.addWidget(self.in_form)
        by_hand.addWidget(self.into_form)
        by_sound = QHBoxLayout()
        by_sound.setSpacing(10)
        by_sound.addWidget(self.passing, 1)
        by_sound.addWidget(self.go)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        box.addLayout(by_hand)
        box.addWidget(self.steady)
        box.addLayout(by_sound)
        box.addWidget(self.check)
        box.addWidget(self.basis)
        self.into_form.clicked.connect(desk.put_into_form)

    def show_all(self, reading: FilmReading | None, together: Together | None) -> None:
        """Show what is known; the rest stays away."""
        self._show_hand(reading)
        self._show_clock(together)

    def _show_hand(self, reading: FilmReading | None) -> None:
        desk = self._desk
        session = desk.bench.session
        for_form = desk.for_form if reading is not None else None
        held = holds(session, for_form)
        self.in_form.setText(self.tr("✓ in the form") if held else "")
        self.in_form.setVisible(held)
        self.into_form.setVisible(for_form is not None and not held and takes_times(session))
        known = reading is not None and reading.speed is not None
        restyle(self.speed, part="hand-value" if known else "advice")
        self.speed.setText("" if reading is None else self._speed(reading))
        steady = "" if reading is None else self._steady(reading)
        self.steady.setText(steady)
        self.steady.setVisible(bool(steady))

    def _speed(self, reading: FilmReading) -> str:
        if reading.speed is not None:
            return self.tr("Speed by film: {v}").format(v=figures.full(reading.speed.speed))
        n = len(reading.complete)
        if n == 0:
            return self.tr("Lay a line on each marker, then mark the frames around each crossing.")
        if n == 1:
            return self.tr("One crossing is timed; a speed needs two.")
        if reading.speed_fault:
            return f"⚠ {said(reading.speed_fault)}"
        return self.tr(
            "For the speed, type the places of the markers here, or their distance in 1."
        )

    def _steady(self, reading: FilmReading) -> str:
        speed = reading.speed
        if speed is None:
            return ""
        parts = []
        if speed.constancy is not None:
            order = [k + 1 for k in reading.complete if reading.markers[k].place is not None]
            parts = [
                self.tr("marker {a} to {b}: {v}").format(a=a, b=b, v=figures.full(s.speed))
                for (a, b), s in zip(itertools.pairwise(order), speed.segments, strict=True)
            ]
        text = "; ".join(parts) + "." if parts else ""
        more = ["" if speed.constancy is None else speed.constancy.sentence, *speed.notes]
        return " ".join(part for part in (text, *map(said, more)) if part)

    def _show_clock(self, together: Together | None) -> None:
        passing = None if together is None else together.passing_seen
        self.go.setVisible(passing is not None)
        self.passing.setVisible(passing is not None)
        if passing is not None:
            self.passing.setText(
                self.tr("By sound it passes the camera at {t} in the picture.").format(
                    t=figures.full(passing)
                )
            )
        check = None if together is None else together.check
        text = ""
        if check is not None:
            agrees = abs(check.normalized_error) <= 1
            text = f"{'✓' if agrees else '✗'} {said(check.sentence)}"
        self.check.setText(text)
        self.check.setVisible(bool(text))
        basis = "" if together is None else self._basis(together)
        self.basis.setText(basis)
        self.basis.setVisible(bool(basis))

    def _basis(self, together: Together) -> str:
        offset = together.link.offset
        if not math.isfinite(offset.u):
            return said(together.link.basis)
        if together.link.basis and not together.passing_seen:
            return ""
        text = said(together.link.basis)
        if together.check is None:
            text += " " + self.tr(
                "To check film against sound, lay a line where the vehicle is straight in front of "
                "the camera, and say so."
            )
        if offset.value:
            text += " " + self.tr("The sound lags the picture by {o}.").format(
                o=figures.full(offset)
            )
        return text
