"""The first run: three hints with the sample, help at F1, icon and desktop file."""

from __future__ import annotations

import configparser
from importlib import resources
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.hands import drop

from wayside_app.window.help.help_window import PAGES, HelpWindow, page_text
from wayside_app.window.main_window import MainWindow
from wayside_app.window.run import window_icon


def _hints(window: MainWindow) -> list[bool]:
    lines = (window.hand.hint, window.sound.hint, window.verdict.hint)
    return [line.isVisible() for line in lines]


def test_the_sample_comes_with_three_hints_until_they_are_taken_away(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, sound_file: Path
) -> None:
    window._hints._folder = tmp_path  # the stand-in's sample lies here
    assert _hints(window) == [False, False, False]
    window.bench.open_sample(tmp_path / "sample")
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    assert _hints(window) == [True, True, True]
    for line in (window.hand.hint, window.sound.hint, window.verdict.hint):
        assert len(line.words.text()) < 90
        qtbot.mouseClick(line.close_button, Qt.MouseButton.LeftButton)
    assert window.preferences.hints_seen
    window.bench.undo_stack.undo()
    window.bench.undo_stack.redo()
    assert _hints(window) == [False, False, False]


def test_an_own_recording_comes_without_hints(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    assert _hints(window) == [False, False, False]


@pytest.mark.parametrize(("area", "word"), [("hand", "tape"), ("verdict", "expanded")])
def test_f1_helps_with_the_area_that_has_the_keyboard(
    qtbot: QtBot, window: MainWindow, area: str, word: str
) -> None:
    {"hand": window.go_to_hand, "verdict": window.go_to_verdict}[area]()
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_F1)
    page = window.findChild(HelpWindow)
    assert page is not None
    assert word in page.text.toPlainText()
    qtbot.mouseClick(page.buttons["sound"], Qt.MouseButton.LeftButton)
    assert "Reading windows" in page.text.toPlainText()
    page.close()


@pytest.mark.parametrize(
    ("sheet", "heading"),
    [
        ("working", "The working"),
        ("budget", "How sure"),
        ("choices", "What choices do"),
        ("explain", "What would explain it"),
        ("plan", "Plan a demonstration"),
        ("runs", "The runs"),
    ],
)
def test_f1_on_a_sheet_helps_with_that_sheet(
    qtbot: QtBot, window: MainWindow, sheet: str, heading: str
) -> None:
    window.pages.turn_to(sheet)
    qtbot.keyClick(window.pages.currentWidget(), Qt.Key.Key_F1)
    page = window.findChild(HelpWindow)
    assert page is not None
    assert page.text.toPlainText().startswith(heading)
    page.close()


def test_help_pages_are_whole_and_stand_in_docs_too() -> None:
    docs = Path(__file__).parents[3] / "docs" / "help"
    for page in PAGES:
        text = page_text(page)
        assert text.startswith("# ")
        assert (docs / f"{page}.md").read_text(encoding="utf-8") == text


def test_icon_and_desktop_file(qtbot: QtBot) -> None:
    icon = window_icon()
    for size in (16, 32, 48, 256):
        picture = icon.pixmap(size, size).toImage()
        assert not picture.isNull()
        assert picture.pixelColor(size // 2, size // 8).alpha() > 0
    text = (resources.files("wayside_app.window") / "assets/wayside.desktop").read_text()
    parser = configparser.ConfigParser(interpolation=None)
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read_string(text)
    entry = parser["Desktop Entry"]
    # freedesktop.org Desktop Entry Specification 1.5: required keys of an application
    assert entry["Type"] == "Application"
    assert entry["Name"]
    assert entry["Exec"].split()[:2] == ["wayside", "open"]
    for key in ("Categories", "MimeType", "Keywords"):
        assert entry[key].endswith(";")
