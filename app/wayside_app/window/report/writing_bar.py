"""One line at the head of the window: what is being written, how far it is, where it lies."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QUrl, Signal
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QPushButton, QWidget

from wayside_app.window.controls import restyle, text_label
from wayside_app.window.words import said


class WritingBar(QFrame):
    """Hidden while nothing is written.

    Signals
    -------
    stop_wanted()
    """

    stop_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "hint")
        self._made: Path | None = None
        self.text = text_label("readout", "", wrap=True)
        self.progress = QProgressBar(self)
        self.progress.setRange(0, 100)
        self.progress.setFixedWidth(160)
        self.progress.setAccessibleName(self.tr("How far the writing is"))
        self.stop = QPushButton(self.tr("Stop"), self)
        self.stop.setAccessibleName(self.tr("Stop writing"))
        self.stop.clicked.connect(self.stop_wanted)
        self.show_button = QPushButton(self.tr("Show it"), self)
        self.show_button.clicked.connect(self._show_made)
        self.dismiss = QPushButton(self.tr("Close"), self)
        self.dismiss.setAccessibleName(self.tr("Close this message"))
        self.dismiss.clicked.connect(self.hide)
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 5, 6, 5)
        row.addWidget(self.text, 1)
        for part in (self.progress, self.stop, self.show_button, self.dismiss):
            row.addWidget(part)
        self.hide()

    def begin(self, name: str) -> None:
        """Say that something is being written."""
        self._say(self.tr("Writing {file} …").format(file=name), busy=True)
        self.progress.setValue(0)

    def go_on(self, fraction: float) -> None:
        """Show how far it is."""
        self.progress.setValue(round(100 * fraction))

    def done(self, path: Path, sentence: str) -> None:
        """Say where it lies."""
        self._made = path
        self._say(sentence, busy=False)
        self.show_button.setVisible(True)

    def fail(self, sentence: str) -> None:
        """Say why nothing was written."""
        self._say(f"⚠ {said(sentence)}", busy=False)

    def stopped(self) -> None:
        """Say that it was stopped."""
        self._say(self.tr("Stopped; nothing was written."), busy=False)

    @property
    def sentence(self) -> str:
        """What is said now, without the sign."""
        return self.text.text().removeprefix("⚠ ")

    def _say(self, sentence: str, busy: bool) -> None:
        fault = sentence.startswith("⚠")
        restyle(self, part="banner" if fault else "hint")
        restyle(self.text, part="fault" if fault else "readout")
        self.text.setText(sentence)
        self.text.setAccessibleName(sentence.removeprefix("⚠ "))
        self.progress.setVisible(busy)
        self.stop.setVisible(busy)
        self.show_button.setVisible(False)
        self.dismiss.setVisible(not busy)
        self.setVisible(True)

    def _show_made(self) -> None:
        if self._made is not None:
            QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._made)))
