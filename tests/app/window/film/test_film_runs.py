"""The film's sheet with several runs: every run has its own marks, and keeps them."""

from __future__ import annotations

import shutil
from pathlib import Path

from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from tests.app.window.film.hands import FILM, Film, mark_crossing
from tests.app.window.film.test_film_in_window import film_of
from tests.app.window.hands import drop

from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import FILM as FILM_SHEET

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


def _marked(qtbot: QtBot, window: MainWindow) -> Film:
    film = film_of(qtbot, window)
    for frame in (10, 30):
        film.key(qtbot, Qt.Key.Key_N)
        mark_crossing(qtbot, film, frame)
    return film


def test_marks_and_times_stay_with_their_run(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    film = _marked(qtbot, window)
    bench = window.bench
    times = [bench.session.entry(f"motion.{n}_time").text for n in ("first", "second")]
    assert all(times)
    qtbot.keyClick(window, Qt.Key.Key_N, CTRL | SHIFT)
    assert bench.session.shown == 1
    assert bench.session.entry("motion.first_time").blank
    assert [m.before for m in bench.session.film.markers] == [None, None], "lines, no crossings"
    qtbot.waitUntil(lambda: film.panel.source.film is None, timeout=10000)
    second = tmp_path / "second.mp4"
    shutil.copy(FILM, second)
    drop(window, [second])
    qtbot.waitUntil(lambda: bench.heard is not None, timeout=20000)
    assert bench.session.runs[0].film.markers[0].before is not None
    qtbot.keyClick(window, Qt.Key.Key_F8)
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    film.key(qtbot, Qt.Key.Key_N)
    mark_crossing(qtbot, film, 20)
    marks = bench.session.film
    qtbot.keyClick(window, Qt.Key.Key_PageUp, CTRL)
    assert bench.session.shown == 0
    assert window.pages.key == FILM_SHEET, "the sheet stays while runs are stepped through"
    assert [bench.session.entry(f"motion.{n}_time").text for n in ("first", "second")] == times
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    assert all(m.before is not None for m in film.panel.desk.marks.markers)
    qtbot.keyClick(window, Qt.Key.Key_PageDown, CTRL)
    assert bench.session.film == marks
    for _ in range(bench.undo_stack.count()):
        qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert len(bench.session.runs) == 1
    for _ in range(bench.undo_stack.count()):
        qtbot.keyClick(window, Qt.Key.Key_Y, CTRL)
    assert bench.session.runs[1].film == marks
