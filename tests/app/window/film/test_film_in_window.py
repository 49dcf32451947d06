"""The film as a part of the whole window: the way in, the form beside it, the way out, saving."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.film.hands import FILM, Film, mark_crossing
from tests.app.window.hands import drop

from wayside_app.window.film.film_panel import FilmPanel
from wayside_app.window.film.keys import film_keys
from wayside_app.window.help.help_window import HelpWindow
from wayside_app.window.keys_list import KeysList
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import FILM as FILM_SHEET

LEFT = Qt.MouseButton.LeftButton


def film_of(qtbot: QtBot, window: MainWindow) -> Film:
    """Open the film by drop and go to it by the form's button."""
    drop(window, [FILM])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    assert window.hand.film_button.isVisible()
    qtbot.mouseClick(window.hand.film_button, LEFT)
    panel = window.pages.page(FILM_SHEET).panel
    assert isinstance(panel, FilmPanel)
    qtbot.waitUntil(lambda: panel.source.film is not None, timeout=20000)
    return Film(window.bench, panel)


def test_a_sound_file_offers_no_film(qtbot: QtBot, window: MainWindow, sound_file: Path) -> None:
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.heard is not None, timeout=20000)
    assert not window.hand.film_button.isVisible()


def test_times_flow_into_the_form_and_escape_leads_back(qtbot: QtBot, window: MainWindow) -> None:
    film = film_of(qtbot, window)
    assert window.pages.key == FILM_SHEET
    qtbot.waitUntil(lambda: QApplication.focusWidget() is film.panel.view, timeout=5000)
    for frame in (10, 30):
        film.key(qtbot, Qt.Key.Key_N)
        mark_crossing(qtbot, film, frame)
    film.key(qtbot, Qt.Key.Key_Escape)
    assert window.pages.key == ""
    assert window.hand.isVisible()
    first, second = (window.hand.row(f"motion.{name}_time") for name in ("first", "second"))
    assert 0.3 < float(first.value.text()) < float(second.value.text()) < 1.1
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert first.value.text() == ""


def test_the_key_turns_to_the_film_and_a_wide_window_keeps_the_form(
    qtbot: QtBot, window: MainWindow
) -> None:
    drop(window, [FILM])
    qtbot.waitUntil(lambda: window.bench.heard is not None, timeout=20000)
    qtbot.keyClick(window, Qt.Key.Key_F8)
    assert window.pages.key == FILM_SHEET
    assert not window.hand.isVisible(), "a small window gives the picture all its room"
    window.go_to_sound()
    window.resize(1920, 1080)
    qtbot.keyClick(window, Qt.Key.Key_F8)
    assert window.hand.isVisible()


def test_marks_are_saved_with_the_session_and_come_back(
    qtbot: QtBot, make_window: Callable[[], MainWindow], tmp_path: Path
) -> None:
    window = make_window()
    film = film_of(qtbot, window)
    film.key(qtbot, Qt.Key.Key_N)
    mark_crossing(qtbot, film, 20)
    marks = window.bench.session.film
    saved = tmp_path / "lesson.wayside.json"
    assert window.keeper.save(saved)
    window.keeper.new()
    assert window.bench.session.film.markers == ()
    assert film.panel.source.film is None
    assert window.keeper.open(saved)
    assert window.bench.session.film == marks
    qtbot.waitUntil(lambda: window.bench.heard is not None, timeout=20000)
    window.go_to_film()
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    assert film.panel.desk.index == 20
    crossing = film.panel.desk.reading.markers[0].crossing
    assert crossing is not None
    assert crossing.before_s == marks.markers[0].before.time_s


def test_the_film_says_itself_what_is_wrong_when_the_file_has_gone(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    copy = tmp_path / "gone.mp4"
    copy.write_bytes(FILM.read_bytes())
    drop(window, [copy])
    qtbot.waitUntil(lambda: window.bench.heard is not None, timeout=20000)
    copy.unlink()
    window.go_to_film()
    panel = window.pages.page(FILM_SHEET).panel
    qtbot.waitUntil(lambda: "gone.mp4" in panel.waiting.text.text(), timeout=20000)
    qtbot.waitUntil(lambda: panel.waiting.again.isVisible(), timeout=20000)
    assert "does not exist" in panel.waiting.text.text()


def test_f1_on_the_film_shows_its_help_and_the_keys_are_listed(
    qtbot: QtBot, window: MainWindow
) -> None:
    film = film_of(qtbot, window)
    qtbot.waitUntil(lambda: QApplication.focusWidget() is film.panel.view, timeout=5000)
    qtbot.keyClick(film.panel.view, Qt.Key.Key_F1)
    page = window.findChild(HelpWindow)
    assert "row by row" in page.text.toPlainText()
    page.close()
    window.show_keys()
    listed = window.findChild(KeysList)
    groups = [listed.table.item(row, 0).text() for row in range(listed.table.rowCount())]
    assert groups.count("On the film") == len(film_keys())
    listed.close()
