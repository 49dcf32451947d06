"""The list of keys names every key of the runs, and each of them does what it says."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from wayside_app.window.keys_list import KeysList, runs_hints
from wayside_app.window.main_window import MainWindow
from wayside_app.window.runs.review_view import BEFORE, NEXT

CTRL = Qt.KeyboardModifier.ControlModifier


def test_the_keys_of_the_runs_are_listed(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F1, CTRL)
    shown = next(w for w in QApplication.topLevelWidgets() if isinstance(w, KeysList))
    table = shown.table
    rows = {
        (table.item(at, 0).text(), table.item(at, 2).text()): table.item(at, 1).text()
        for at in range(table.rowCount())
    }
    assert rows["Runs", "All runs"] == "F9"
    assert rows["Runs", "Side by side"] == "Shift+F5"
    assert rows["Runs", "Next run"] == "Ctrl+PgDown"
    assert rows["In the list of runs", "show the run"] == "Return"
    shown.close()


def test_the_keys_listed_for_stepping_are_those_the_screen_takes() -> None:
    listed = {hint.what: hint.keys.split(", ") for hint in runs_hints()}
    for what, keys in (("next run", NEXT), ("run before", BEFORE)):
        assert [QKeySequence(key).toString() for key in keys] == listed[what]
