"""The three short hints of a first run: one in each area, gone with one click."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from wayside_app.window.bench import Bench
from wayside_app.window.controls import text_label
from wayside_app.window.settings import Preferences


class HintLine(QFrame):
    """One sentence with a button that takes it away.

    Signals
    -------
    dismissed()
    """

    dismissed = Signal()

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "hint")
        self.words = text_label("hint-words", text, wrap=True)
        self.close_button = QPushButton("×", self)
        self.close_button.setProperty("part", "hint-close")
        self.close_button.setAccessibleName(self.tr("Take this hint away"))
        self.close_button.clicked.connect(self._dismiss)
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 3, 4, 3)
        row.addWidget(self.words, 1)
        row.addWidget(self.close_button)
        self.hide()

    def _dismiss(self) -> None:
        self.hide()
        self.dismissed.emit()


class FirstHints(QObject):
    """Shows the hints while the sample is open, until they were taken away once.

    Parameters
    ----------
    bench : Bench
    lines : sequence of HintLine
    preferences : Preferences
        Remembers that they were seen.
    sample_folder : Path
        A recording in it is the sample.
    """

    def __init__(
        self,
        bench: Bench,
        lines: Sequence[HintLine],
        preferences: Preferences,
        sample_folder: Path,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._bench, self._lines = bench, list(lines)
        self._preferences, self._folder = preferences, sample_folder
        bench.recording_changed.connect(self._look)
        for line in self._lines:
            line.dismissed.connect(self._taken_away)

    def _look(self) -> None:
        heard = self._bench.heard
        sample = heard is not None and Path(heard.media.path).is_relative_to(self._folder.resolve())
        for line in self._lines:
            line.setVisible(sample and not self._preferences.hints_seen)

    def _taken_away(self) -> None:
        if all(line.isHidden() for line in self._lines):
            self._preferences.hints_seen = True
