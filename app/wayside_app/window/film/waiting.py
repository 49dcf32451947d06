"""In the picture's place while there is none."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import (
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wayside_app.window.controls import text_label


class Waiting(QWidget):
    """Progress of opening a film, or why there is none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.text = text_label("advice", "", wrap=True)
        self.progress = QProgressBar(self)
        self.progress.setRange(0, 1000)
        self.progress.setAccessibleName(self.tr("Progress of opening the film"))
        self.stop = QPushButton(self.tr("Stop"), self)
        self.again = QPushButton(self.tr("Try again"), self)
        self.choose = QPushButton(self.tr("Choose a film …"), self)
        busy = QHBoxLayout()
        busy.addWidget(self.progress, 1)
        busy.addWidget(self.stop)
        retry = QHBoxLayout()
        retry.addWidget(self.choose)
        retry.addWidget(self.again)
        retry.addStretch(1)
        box = QVBoxLayout(self)
        box.addStretch(1)
        box.addWidget(self.text)
        box.addLayout(busy)
        box.addLayout(retry)
        box.addStretch(1)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.say("")

    def begin(self, path: Path) -> None:
        """Show that a film is being opened."""
        self.text.setText(self.tr("Opening {file} …").format(file=path.name))
        self.progress.setValue(0)
        for part in (self.progress, self.stop):
            part.show()
        self.again.hide()
        self.choose.hide()

    def say(self, sentence: str, again: bool = False) -> None:
        """Show why there is no film."""
        self.text.setText(sentence)
        for part in (self.progress, self.stop):
            part.hide()
        self.again.setVisible(again)
        self.choose.show()
