"""The sheet with the worked steps: follows the form, copies as text and LaTeX, leads back."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.hands import fill_in, retype

from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import WORKING
from wayside_app.window.steps.working_page import WorkingPage


def turn(qtbot: QtBot, window: MainWindow) -> WorkingPage:
    qtbot.mouseClick(window.hand.expectation.working, Qt.MouseButton.LeftButton)
    page = window.pages.page(WORKING)
    assert isinstance(page, WorkingPage)
    assert page.isVisible()
    return page


def test_an_incomplete_form_says_what_is_missing(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert page.waiting.isVisible()
    assert "distance between the markers" in page.waiting.text()
    assert not page.steps.isVisible()
    row = window.hand.row("motion.marker_distance")
    retype(qtbot, row.value, "six")
    assert "cannot be used yet" in page.waiting.text()


def test_every_step_is_on_a_card_and_follows_the_form(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    p = window.bench.prediction
    assert p is not None
    shown = [c for c in page.steps.cards if c.isVisible()]
    assert len(shown) == len(p.conversions) + len(p.steps)
    speed = shown[len(p.conversions)]
    assert speed.title.text() == "1. Speed"
    # 6.10 m in 0.66 s, school arithmetic
    assert "9.24" in speed.formula.accessibleDescription()
    retype(qtbot, window.hand.row("motion.marker_distance").value, "6.6")
    assert "v = 10.00" in speed.formula.accessibleDescription()
    retype(qtbot, window.hand.row("motion.marker_distance").value, "")
    assert page.waiting.isVisible()
    assert not page.steps.isVisible()


def test_steps_are_copied_as_text_and_latex(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    p = window.bench.prediction
    assert p is not None
    clipboard = QApplication.clipboard()
    qtbot.mouseClick(page.copy_text, Qt.MouseButton.LeftButton)
    assert all(step.text in clipboard.text() for step in p.steps)
    qtbot.mouseClick(page.copy_latex, Qt.MouseButton.LeftButton)
    assert clipboard.text().count(r"\begin{aligned}") == len(p.steps) + len(p.conversions)
    card = page.steps.cards[len(p.conversions)]
    card.as_text.trigger()
    assert clipboard.text() == p.steps[0].text
    card.as_latex.trigger()
    assert clipboard.text() == f"% Speed\n\\[{p.steps[0].latex}\\]"


@pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
def test_the_copy_menu_opens_by_key(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    card = page.steps.cards[0]
    menu = card.copy.menu()
    menu.aboutToShow.connect(lambda: qtbot.keyClick(menu, Qt.Key.Key_Escape))
    card.copy.setFocus()
    with qtbot.waitSignal(menu.aboutToShow, timeout=2000):
        qtbot.keyClick(card.copy, Qt.Key.Key_Space)
    menu.hide()


def test_keys_turn_the_sheet_and_escape_leads_back_to_where_one_was(
    qtbot: QtBot, window: MainWindow
) -> None:
    fill_in(qtbot, window)
    box = window.hand.row("air.temperature").value
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_F2)
    assert window.pages.key == WORKING
    assert QApplication.focusWidget() is window.pages.page(WORKING).scroller
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    assert window.pages.key == ""
    assert window.sound.isVisible()
    assert QApplication.focusWidget() is box


def test_where_each_input_comes_from_is_said(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    retype(qtbot, window.hand.row("motion.marker_distance").value, "6.10 6.12 6.09 6.11")
    page = turn(qtbot, window)
    rows = {page.inputs.text(r, 0): page.inputs.text(r, 3) for r in range(page.inputs.rowCount())}
    assert rows["D"].startswith("4 readings")
    assert "scatter" in rows["D"]
    assert rows["N"] == "exact"
    assert rows["w"].startswith("assumed")


@pytest.mark.parametrize("look", ["light", "dark", "high contrast"])
def test_formulas_take_the_colours_of_the_look(qtbot: QtBot, window: MainWindow, look: str) -> None:
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    window.use_look(look)
    view = page.steps.cards[0].formula
    image = view.grab().toImage()
    colours = {
        image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())
    }
    assert page.look.hand in colours
    window.use_look("light")
