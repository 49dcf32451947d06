"""One clap that is seen and heard sets the sound against the picture."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from wayside.film.clock import CLAP_ADVICE
from wayside.film.marks import Typed
from wayside.film.together import Together
from wayside.hand.units import Dimension
from wayside_app.window import figures
from wayside_app.window.controls import text_label
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.film.fold import Fold
from wayside_app.window.film.typed_row import TypedRow
from wayside_app.window.words import said


class ClapFold(Fold):
    """One clap that is seen and heard."""

    def __init__(self, desk: FilmDesk, parent: QWidget | None = None) -> None:
        super().__init__(_tr("Picture against sound: a clap"), False, parent)
        self._desk = desk
        self._visit = 0
        self.words(said(CLAP_ADVICE))
        self.before = QPushButton(_tr("Hands still apart here"), self)
        self.after = QPushButton(_tr("Hands together here"), self)
        self.times = {"before_s": text_label("", "–"), "after_s": text_label("", "–")}
        grid = QGridLayout()
        for row, (button, name) in enumerate(((self.before, "before_s"), (self.after, "after_s"))):
            grid.addWidget(button, row, 0)
            grid.addWidget(self.times[name], row, 1)
            button.clicked.connect(lambda checked=False, n=name: self._seen(n))
        grid.setColumnStretch(1, 1)
        self.column.addLayout(grid)
        self.heard = TypedRow(_tr("Heard at, on the spectrogram"), Dimension.TIME, self)
        self.distance = TypedRow(_tr("From the hands to the phone"), Dimension.LENGTH, self)
        for name, typed in (("heard", self.heard), ("distance", self.distance)):
            self.column.addWidget(typed)
            typed.edited.connect(lambda new, n=name: self._typed(n, new))
            typed.settled.connect(self._settled)
        self.state = self.words()

    def show_clap(self, together: Together | None) -> None:
        """Show the clap and what it gives."""
        clap = self._desk.marks.clap
        for name, label in self.times.items():
            t = clap.before_s if name == "before_s" else clap.after_s
            label.setText("–" if t is None else f"{figures.plain(t, 3)} s")
        self.heard.show_typed(clap.heard)
        self.distance.show_typed(clap.distance)
        text = ""
        if together is not None and not clap.blank:
            text = said(together.clap_fault) or _tr("The sound lags the picture by {o}.").format(
                o=figures.full(together.link.offset)
            )
        self.state.setText(text)
        self.state.setVisible(bool(text))

    def _seen(self, name: str) -> None:
        marks, t = self._desk.marks, self._desk.time_s
        clap = marks.clap
        clap = replace(clap, before_s=t) if name == "before_s" else replace(clap, after_s=t)
        self._desk.change(replace(marks, clap=clap), _tr("mark the clap"))

    def _typed(self, name: str, typed: Typed) -> None:
        marks = self._desk.marks
        clap = marks.clap
        clap = replace(clap, heard=typed) if name == "heard" else replace(clap, distance=typed)
        name = _tr("change the clap")
        self._desk.change(replace(marks, clap=clap), name, f"film clap {self._visit}")

    def _settled(self) -> None:
        self._visit += 1


def _tr(text: str) -> str:
    return QCoreApplication.translate("FilmFolds", text)
