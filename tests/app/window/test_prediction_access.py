"""Every sheet for people who do not see the screen or do not use a mouse, and at every size."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget
from pytestqt.qtbot import QtBot
from tests.app.window.hands import drop

from wayside.session.session import Entry
from wayside_app.window.main_window import MainWindow
from wayside_app.window.maths.formula import FormulaView
from wayside_app.window.pages.page import Page
from wayside_app.window.pages.pages import titles
from wayside_app.window.pages.picture import Picture
from wayside_app.window.pages.sheet_table import SheetTable

KEYS = list(titles())
INNER = {"qt_spinbox_lineedit", "qt_scrollarea_viewport"}


@pytest.fixture
def full(qtbot: QtBot, window: MainWindow, sound_file: Path) -> MainWindow:
    """A window with a recording and a whole form, the distance included."""
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20_000)
    for path, (value, u) in SHEET.items():
        field = window.hand.row(path).field
        window.bench.type_entry(path, Entry(value, field.unit, u), field.label)
    return window


SHEET = {
    "motion.marker_distance": ("6.10", "0.02"),
    "motion.first_time": ("3.75", "0.01"),
    "motion.second_time": ("4.41", "0.01"),
    "source.count": ("92", ""),
    "source.loaded_radius": ("32.6", "0.4"),
    "air.temperature": ("20", "0.5"),
    "microphone.distance": ("2.4", "0.05"),
}


def stops(page: Page) -> list[QWidget]:
    return [
        w
        for w in page.findChildren(QWidget)
        if w.focusPolicy() & Qt.FocusPolicy.TabFocus
        and w.isVisibleTo(page)
        and w.isEnabled()
        and w.objectName() not in INNER
    ]


@pytest.mark.parametrize("key", KEYS)
def test_every_control_has_a_name_and_every_picture_a_sentence(
    qtbot: QtBot, full: MainWindow, key: str
) -> None:
    full.pages.turn_to(key)
    page = full.pages.page(key)
    qtbot.wait(50)
    nameless = [
        w
        for w in stops(page)
        if not w.accessibleName() and not (isinstance(w, QAbstractButton) and w.text())
    ]
    assert not nameless
    if key == "budget":
        qtbot.waitUntil(lambda: page.sampling.current, timeout=20_000)  # type: ignore[attr-defined]
    for picture in page.findChildren(Picture):
        assert picture.accessibleName()
        assert picture.accessibleDescription().endswith(".")
        assert picture.isVisible()
    for formula in page.findChildren(FormulaView):
        if formula.isVisible():
            assert formula.accessibleName()
            assert "=" in formula.accessibleDescription()
    if page.findChildren(Picture):
        assert any(table.rowCount() for table in page.findChildren(SheetTable)), "no table twin"


@pytest.mark.parametrize("key", KEYS)
def test_tab_reaches_everything_on_the_sheet(qtbot: QtBot, full: MainWindow, key: str) -> None:
    full.pages.turn_to(key)
    page = full.pages.page(key)
    wanted = set(stops(page))
    seen = set()
    for _ in range(3 * len(wanted) + 120):
        focused = QApplication.focusWidget()
        assert focused is not None
        seen.add(focused)
        if wanted <= seen:
            break
        qtbot.keyClick(focused, Qt.Key.Key_Tab)
    assert wanted <= seen


@pytest.mark.parametrize("key", KEYS)
def test_sheets_fit_a_small_screen_with_large_text(
    qtbot: QtBot, full: MainWindow, key: str
) -> None:
    full.pages.turn_to(key)
    for scale in (1.0, 1.5, 2.0):
        full.use_look(None, scale)
        QApplication.processEvents()
        least = full.minimumSizeHint()
        assert least.width() <= 1280
        assert least.height() <= 800
        page = full.pages.page(key)
        # text is wrapped, not cut off at the right
        assert page.content.minimumSizeHint().width() <= page.scroller.viewport().width() or (
            scale > 1.5
        )
    full.use_look(None, 1.0)


def test_neighbouring_sheets_are_a_click_away(qtbot: QtBot, full: MainWindow) -> None:
    full.pages.turn_to("working")
    order = ["working", "budget", "choices", "explain"]
    for key in order:
        assert full.pages.key == key
        later = full.pages.page(key).later
        if later.isVisible():
            qtbot.mouseClick(later, Qt.MouseButton.LeftButton)
    for key in reversed(order):
        assert full.pages.key == key
        earlier = full.pages.page(key).earlier
        if earlier.isVisible():
            qtbot.mouseClick(earlier, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(full.pages.page("working").back, Qt.MouseButton.LeftButton)
    assert full.pages.key == ""


def test_another_recording_brings_the_sound_back(
    qtbot: QtBot, full: MainWindow, sound_file: Path
) -> None:
    full.pages.turn_to("plan")
    other = sound_file.with_name("other.wav")
    other.write_bytes(b"stand-in")
    drop(full, [other])
    qtbot.waitUntil(lambda: full.pages.key == "", timeout=20_000)
    assert full.hand.isVisible()
