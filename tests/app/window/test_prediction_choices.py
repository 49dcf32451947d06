"""The sheet on what choices do: formulas, wind, near readings, shortcuts, rounding."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from tests.app.window.hands import choose, fill_in, retype
from tests.app.window.test_prediction_budget import column

from wayside_app.window.choices.choices_page import ChoicesPage
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import CHOICES


def turn(qtbot: QtBot, window: MainWindow) -> ChoicesPage:
    fill_in(qtbot, window)
    qtbot.keyClick(window, Qt.Key.Key_F4)
    page = window.pages.page(CHOICES)
    assert isinstance(page, ChoicesPage)
    assert page.isVisible()
    return page


def test_formulas_stand_side_by_side_and_one_click_takes_another(
    qtbot: QtBot, window: MainWindow
) -> None:
    page = turn(qtbot, window)
    names = column(page.formulas, 0)
    assert names == ["✓ rule of thumb", "dry ideal gas", "humid air"]
    speeds = [float(text) for text in column(page.formulas, 1)]
    # rule of thumb 331 + 0.6 x 20 (common practice); 343.2 m/s at 20 °C, ISO 9613-1, A.5;
    # Cramer 1993 at 50 % humidity 343.985 m/s
    assert speeds == pytest.approx([343.0, 343.2, 343.99], abs=0.011)
    qtbot.mouseClick(page.use["humid-air"], Qt.MouseButton.LeftButton)
    assert column(page.formulas, 0)[2] == "✓ humid air"
    assert window.bench.prediction is not None
    assert window.bench.prediction.setup.formula == "humid-air"
    assert window.hand.formula.currentData() == "humid-air"
    assert window.bench.undo_stack.undoText() == "choose formula"
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert page.use["rule-of-thumb"].isChecked()


def test_wind_hardly_spoils_two_pitches(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    by_wind = {page.wind.text(r, 0): r for r in range(page.wind.rowCount())}
    row = by_wind["5 m/s from behind"]
    # c/(c + w) - 1 with c = 343 and w = 5 m/s
    assert page.wind.text(row, 4) == "−1.44 %"
    assert abs(float(page.wind.text(row, 3).removesuffix(" %").replace("−", "-"))) < 0.1


def test_near_readings_need_the_distance(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert page.near_words.isVisible()
    assert not page.near.isVisible()
    retype(qtbot, window.hand.row("microphone.distance").value, "2.4")
    retype(qtbot, window.hand.row("microphone.distance").u, "0.05")
    assert page.near.isVisible()
    assert not page.near_words.isVisible()
    errors = [float(t.removesuffix(" %").replace("−", "-")) for t in column(page.near, 5)]
    # to first order v cos(angle): 1/sqrt(2) at one closest distance, 10/sqrt(101) at ten
    assert errors[0] == pytest.approx(100 * (0.5**0.5 - 1), abs=0.3)
    assert errors[-1] == pytest.approx(100 * (10 / 101**0.5 - 1), abs=0.1)
    assert "-29.3" in page.near_picture.accessibleDescription().replace("−", "-")


def test_shortcuts_and_rounding_have_their_price(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    ways = column(page.shortcuts, 0)
    assert ways[0] == "Midpoint of the two pitches"
    # f0 M^2/(1 - M^2) with f0 = 415 Hz and M = 9.24/343
    assert page.shortcuts.text(0, 4) == "+0.3 Hz"
    assert page.rounding.rowCount() >= 4


def test_a_moving_observer_has_its_own_shortcut(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    window.hand.kind.setFocus()
    choose(qtbot, window.hand.kind, "Moving")
    retype(qtbot, window.hand.row("source.pitch").value, "440")
    retype(qtbot, window.hand.row("source.pitch").u, "1")
    assert column(page.shortcuts, 0)[0] == "Harmonic mean of the two pitches"
