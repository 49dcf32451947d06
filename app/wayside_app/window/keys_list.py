"""Help > Keys: every key, from the menus' own list and the plot's own table."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from wayside_app.window.controls import text_label
from wayside_app.window.film.keys import film_keys
from wayside_app.window.menus import KeyHint
from wayside_app.window.words import said


def plot_hints() -> list[KeyHint]:
    """Return the keys that work while the spectrogram has the keyboard."""
    group = _tr("On the spectrogram")
    return [
        KeyHint(group, keys, what)
        for keys, what in (
            ("Left, Right, Up, Down", _tr("move the picture")),
            ("+, -", _tr("zoom time")),
            ("Ctrl++, Ctrl+-", _tr("zoom pitch")),
            ("Home", _tr("whole recording")),
            ("C", _tr("cursor on or off")),
            ("Shift+Left, Right, Up, Down", _tr("move the cursor")),
            ("H", _tr("mark the harmonics of the cursor's pitch")),
            ("Space", _tr("play or stop")),
        )
    ] + [
        KeyHint(_tr("On the level range"), "Left, Right", _tr("soft end")),
        KeyHint(_tr("On the level range"), "Down, Up", _tr("loud end")),
        KeyHint(_tr("Everywhere"), "Tab, Shift+Tab", _tr("next and previous control")),
    ]


def film_hints() -> list[KeyHint]:
    """Return the keys that work on the film's sheet."""
    return [KeyHint(_tr("On the film"), key.shown, key.what) for key in film_keys()]


def runs_hints() -> list[KeyHint]:
    """Return the keys that work in the list of runs, and those of the runs side by side."""
    listed, beside = _tr("In the list of runs"), _tr("Runs side by side")
    return [
        KeyHint(listed, "Return", _tr("show the run")),
        KeyHint(listed, "Delete", _tr("remove the chosen runs")),
        KeyHint(listed, "Ctrl+C", _tr("copy the list as text")),
        KeyHint(beside, "PgDown, Right, Space", _tr("next run")),
        KeyHint(beside, "PgUp, Left, Backspace", _tr("run before")),
        KeyHint(beside, "Down, Up", _tr("what lies below the run")),
        KeyHint(beside, "Escape", _tr("back to the window")),
    ]


class KeysList(QDialog):
    """A table of keys; the window stays usable beside it."""

    def __init__(self, hints: Sequence[KeyHint], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Keys"))
        self.table = QTableWidget(len(hints), 3, self)
        self.table.setAccessibleName(self.tr("List of keys"))
        self.table.setHorizontalHeaderLabels([self.tr("where"), self.tr("keys"), self.tr("what")])
        self.table.verticalHeader().hide()
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        for row, hint in enumerate(hints):
            keys = QKeySequence(hint.keys).toString(QKeySequence.SequenceFormat.NativeText)
            shown = said(hint.keys) if "," in hint.keys or not keys else keys
            for column, text in enumerate((hint.group, shown, hint.what)):
                self.table.setItem(row, column, QTableWidgetItem(text))
        self.table.resizeColumnsToContents()
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(2, QHeaderView.ResizeMode.Stretch)
        close = QPushButton(self.tr("Close"), self)
        close.clicked.connect(self.close)
        whole = QVBoxLayout(self)
        whole.addWidget(text_label("title", self.tr("Keys")))
        whole.addWidget(self.table, 1)
        whole.addWidget(close, 0, Qt.AlignmentFlag.AlignRight)
        self.resize(640, 600)


def _tr(text: str) -> str:
    return QCoreApplication.translate("KeysList", text)
