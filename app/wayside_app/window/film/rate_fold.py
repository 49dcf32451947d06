"""Slow motion: the rate it was filmed at, typed by hand."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QLineEdit, QWidget

from wayside.film.marked import FilmReading
from wayside.film.retime import AS_FILMED
from wayside_app.window import figures
from wayside_app.window.controls import restyle, text_label
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.film.fold import Fold
from wayside_app.window.language import numbers
from wayside_app.window.words import said


class RateFold(Fold):
    """Slow motion: the rate it was filmed at."""

    def __init__(self, desk: FilmDesk, parent: QWidget | None = None) -> None:
        super().__init__(_tr("Slow motion"), False, parent)
        self._desk = desk
        self._visit = 0
        self.advice = self.words(
            _tr(
                "If the film was slowed down or sped up, type how many frames a second were "
                "filmed; leave it empty for a film at natural speed. Do not measure pitches in "
                "such a film: its sound was changed too, or does not belong to it."
            )
        )
        self.rate = QLineEdit(self)
        self.rate.setAccessibleName(_tr("Frames a second while filming"))
        label = text_label("", _tr("Frames a second while filming"))
        label.setBuddy(self.rate)
        self.fault = text_label("fault", "", wrap=True)
        for part in (label, self.rate, self.fault):
            self.column.addWidget(part)
        self.result = self.words()
        self.rate.textEdited.connect(self._typed)
        self.rate.editingFinished.connect(self._settled)

    def show_rate(self, reading: FilmReading | None) -> None:
        """Show the rate and what it does."""
        text = self._desk.marks.true_fps
        if numbers.plain(self.rate.text()) != numbers.plain(text):
            self.rate.setText(figures.typed(text))
        fault = "" if reading is None else reading.clock_fault
        self.fault.setText(f"⚠ {said(fault)}" if fault else "")
        self.fault.setVisible(bool(fault))
        restyle(self.rate, faulty=bool(fault))
        clock = AS_FILMED if reading is None else reading.clock
        used = clock.factor != 1.0
        self.result.setVisible(used)
        if used:
            self.result.setText(
                _tr("One true second lasts {f} s in this film; speeds allow for it.").format(
                    f=figures.plain(clock.factor, 3)
                )
            )

    def _typed(self, text: str) -> None:
        marks = replace(self._desk.marks, true_fps=numbers.plain(text))
        name = _tr("change the true frame rate")
        self._desk.change(marks, name, f"film rate {self._visit}")

    def _settled(self) -> None:
        self._visit += 1


def _tr(text: str) -> str:
    return QCoreApplication.translate("FilmFolds", text)
