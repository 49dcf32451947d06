"""The row under the picture: steps to and fro, the frame and its true time."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from wayside_app.window.controls import Number, text_label
from wayside_app.window.film.desk import FilmDesk


class Transport(QWidget):
    """Buttons for what the arrow keys do, and the time to read or type."""

    def __init__(self, desk: FilmDesk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        self.buttons: dict[str, QPushButton] = {}
        self._add(row, "-s", self.tr("◂ 1 s"), self.tr("One second back"), lambda: desk.step_s(-1))
        self._add(row, "-f", self.tr("◂ frame"), self.tr("One frame back"), lambda: desk.step(-1))
        self._add(row, "+f", self.tr("frame ▸"), self.tr("One frame on"), lambda: desk.step(1))
        self._add(row, "+s", self.tr("1 s ▸"), self.tr("One second on"), lambda: desk.step_s(1))
        self.time = Number(self.tr("time of the frame, seconds"), self)
        self.time.setDecimals(4)
        self.time.setRange(-1e6, 1e6)
        self.time.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.time.editingFinished.connect(self._typed)
        self.frame = text_label("quiet", "")
        # with large text it may be cut; the number is in the picture's description too
        self.frame.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        row.addSpacing(8)
        row.addWidget(self.time)
        row.addWidget(text_label("", self.tr("s")))
        row.addWidget(self.frame, 1)
        desk.frame_changed.connect(self._show)
        desk.source.shown.connect(lambda _: self._show())
        desk.source.opened.connect(self._show)
        self._show()

    def set_look(self, font: QFont) -> None:
        """Take the text size."""
        self.time.setFixedWidth(round(1.1 * QFontMetrics(font).horizontalAdvance("8888.8888")) + 18)

    def _add(
        self, row: QHBoxLayout, key: str, text: str, name: str, call: Callable[[], None]
    ) -> None:
        button = QPushButton(text, self)
        button.setAccessibleName(name)
        button.setToolTip(name)
        button.setAutoRepeat(True)
        button.clicked.connect(lambda checked=False: call())
        self.buttons[key] = button
        row.addWidget(button)

    def _show(self) -> None:
        film = self._desk.source.film
        self.setEnabled(film is not None)
        if film is None:
            self.frame.setText("")
            return
        if not self.time.hasFocus() or not self.time.lineEdit().isModified():
            self.time.blockSignals(True)
            self.time.setValue(self._desk.time_s)
            self.time.blockSignals(False)
        text = self.tr("frame {k} of {n}").format(k=self._desk.index + 1, n=len(film.times))
        if self._desk.source.waiting:
            text += self.tr(", loading …")
        self.frame.setText(text)

    def _typed(self) -> None:
        wanted = self.time.value()
        if round(self._desk.time_s, 4) != wanted:
            self._desk.go_to_time(wanted + 5e-5)
        self.time.lineEdit().setModified(False)
        self._show()
