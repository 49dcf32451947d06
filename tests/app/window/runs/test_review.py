"""The runs side by side on a projector: stepped with one key, told in words and numbers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import drop, retype

from wayside_app.window.main_window import MainWindow
from wayside_app.window.theme.looks import LOOKS
from wayside_app.window.twins.twin_table import TwinTable

Wait = Callable[[MainWindow], None]
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def reviewed(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> MainWindow:
    """A window with five measured runs and their set-up, side by side in front."""
    _, setup = core.make_sample(class_files[0].parent / "sample")
    drop(window, [*class_files, setup])
    all_measured(window)
    qtbot.keyClick(window, Qt.Key.Key_F5, SHIFT)
    assert window.stack.currentWidget() is window.review
    return window


def test_one_key_goes_through_the_class(qtbot: QtBot, reviewed: MainWindow) -> None:
    view, bench = reviewed.review, reviewed.bench
    assert view.hasFocus()
    assert view.headline.text() == "✓ a1-out: hand and sound agree"
    assert view.place.text() == "Run 1 of 5"
    seen = []
    for key in (Qt.Key.Key_PageDown, Qt.Key.Key_Right, Qt.Key.Key_Space, Qt.Key.Key_PageDown):
        qtbot.keyClick(view, key)
        seen.append(view.headline.text().split()[1].strip(":"))
    assert seen == ["a2-back", "b1-out", "b2-back", "b3-out"]
    qtbot.keyClick(view, Qt.Key.Key_PageDown)
    assert bench.session.shown == 0
    qtbot.keyClick(view, Qt.Key.Key_PageUp)
    assert bench.session.shown == 4
    assert bench.undo_stack.count() == 1, "looking is no edit"
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert reviewed.stack.currentWidget() is reviewed.page
    assert reviewed.menuBar().isVisible()


def test_the_numbers_are_those_of_the_comparison(qtbot: QtBot, reviewed: MainWindow) -> None:
    view, bench = reviewed.review, reviewed.bench
    qtbot.keyClick(view, Qt.Key.Key_PageDown)
    comparison = bench.runs.seen(bench.session, 1).comparison
    assert comparison is not None
    row = comparison.row("approach_hz")
    assert row is not None
    assert row.cents is not None
    shown = view.values["approach"].text()
    assert shown.endswith("cents")
    assert float(shown.split()[1].replace("−", "-")) == pytest.approx(row.cents, abs=0.06)
    assert view.picture.accessibleDescription().startswith("Pitch over time of a2-back and of")
    assert shown.split(" ", 1)[1] in view.picture.accessibleDescription()


def test_a_run_over_another_run(qtbot: QtBot, reviewed: MainWindow) -> None:
    view, bench = reviewed.review, reviewed.bench
    qtbot.keyClick(view, Qt.Key.Key_Down)
    assert view.headline.text() == "a1-out over a2-back"
    a, b = (bench.runs.seen(bench.session, k).measurement for k in (0, 1))
    assert a is not None
    assert b is not None
    assert a.fit is not None
    assert b.fit is not None
    expected = 1200 * np.log2(a.fit.approach_hz.value / b.fit.approach_hz.value)
    text = view.values["approach"].text()
    assert float(text.split()[0].replace("−", "-")) == pytest.approx(expected, abs=0.06)
    qtbot.keyClick(view, Qt.Key.Key_PageDown)
    assert view.headline.text() == "b1-out over a2-back", "no run is set over itself"
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert view.headline.text() == "b1-out over a1-out"
    qtbot.keyClick(view, Qt.Key.Key_Up)
    assert view.headline.text() == "✓ b1-out: hand and sound agree"


def test_the_run_chosen_in_the_list_is_the_one_below(qtbot: QtBot, reviewed: MainWindow) -> None:
    qtbot.keyClick(reviewed.review, Qt.Key.Key_Escape)
    page = reviewed.runs.page
    reviewed.runs.show_all()
    page.table.choose(frozenset({reviewed.bench.session.runs[3].key}))
    qtbot.mouseClick(page.review_button, Qt.MouseButton.LeftButton)
    assert reviewed.review.headline.text() == "a1-out over b2-back"


def test_what_cannot_be_shown_says_why(qtbot: QtBot, window: MainWindow, core: Core) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F5, SHIFT)
    view = window.review
    assert not view.picture.isVisible()
    assert view.nothing.text() == "This run is not measured yet."
    assert view.twin() is None


def test_no_pass_by_says_so(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    core.found = False
    drop(window, class_files)
    all_measured(window)
    qtbot.keyClick(window, Qt.Key.Key_F5, SHIFT)
    assert "nothing passed" in window.review.nothing.text()


def test_its_numbers_stand_in_a_table_and_leave_with_it(qtbot: QtBot, reviewed: MainWindow) -> None:
    qtbot.keyClick(reviewed, Qt.Key.Key_T, CTRL)
    twin = next(w for w in QApplication.topLevelWidgets() if isinstance(w, TwinTable))
    shown = reviewed.review.twin()
    assert shown is not None
    assert shown.heads[0] == "time from the passing (s)"
    times, first, second, cents, u = shown.columns
    assert times[0] < 0.0 < times[-1]
    np.testing.assert_allclose(cents, 1200 * np.log2(first / second), atol=1e-9)
    assert np.all(u > 0)
    twin.close()


@pytest.mark.parametrize("look", list(LOOKS))
def test_letters_are_large_in_every_look_and_curves_have_their_colours(
    qtbot: QtBot, reviewed: MainWindow, look: str
) -> None:
    view = reviewed.review
    reviewed.use_look(look)
    qtbot.wait(30)
    for label in (view.headline, *view.values.values()):
        assert label.font().pixelSize() * 0.73 >= view.height() / 30 - 1
    image = view.picture.grab().toImage()
    colours = {
        image.pixelColor(x, y).name()
        for x in range(0, image.width(), 2)
        for y in range(0, image.height(), 2)
    }
    assert LOOKS[look].sound in colours
    assert LOOKS[look].hand in colours


def test_the_form_is_not_lost_by_looking(qtbot: QtBot, reviewed: MainWindow) -> None:
    qtbot.keyClick(reviewed.review, Qt.Key.Key_Escape)
    reviewed.pages.turn_back()
    retype(qtbot, reviewed.hand.row("air.temperature").value, "25")
    qtbot.keyClick(reviewed, Qt.Key.Key_F5, SHIFT)
    qtbot.keyClick(reviewed.review, Qt.Key.Key_PageDown)
    qtbot.keyClick(reviewed.review, Qt.Key.Key_PageUp)
    qtbot.keyClick(reviewed.review, Qt.Key.Key_Escape)
    assert reviewed.hand.row("air.temperature").value.text() == "25"
