"""Area 1 with real keys and clicks: entries, faults at the field, undo, nothing lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.hands import PAPER, drop, fill_in, retype, wheel

from wayside.hand.setup_file import read_setup
from wayside_app.window.main_window import MainWindow


def test_filling_in_the_form_predicts(qtbot: QtBot, window: MainWindow) -> None:
    assert "Still needed" in window.hand.expectation.waiting.text()
    fill_in(qtbot, window, hand=retype)
    prediction = window.bench.prediction
    assert prediction is not None
    # 6.10 m in 0.66 s; the arithmetic is school level
    assert prediction.speed_mps.value == pytest.approx(6.10 / 0.66)
    assert window.hand.expectation.values["speed_mps"].text().startswith("9.24 ±")
    assert window.verdict.headline.text().startswith("We expect")


def test_tab_goes_down_the_form_in_reading_order(qtbot: QtBot, window: MainWindow) -> None:
    first = window.hand.row("motion.marker_distance")
    first.value.setFocus()
    visited = []
    for _ in range(12):
        visited.append(QApplication.focusWidget())
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    wanted = []
    for path in ("motion.marker_distance", "motion.first_time", "motion.second_time"):
        row = window.hand.row(path)
        wanted += [row.value, row.unit, row.about, row.u]
    assert visited == wanted


def test_a_fault_stands_at_its_field_and_nothing_is_lost(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    row = window.hand.row("motion.marker_distance")
    retype(qtbot, row.value, "six")
    assert row.value.text() == "six"
    assert "“six” is not a number" in row.fault_text
    assert row.fault.isVisible()
    assert window.bench.prediction is None
    assert window.hand.row("air.temperature").value.text() == "20"
    retype(qtbot, row.value, "6,10")
    assert row.fault_text == ""
    assert window.bench.prediction is not None


@pytest.mark.parametrize(
    ("path", "value", "u", "word"),
    [
        ("motion.marker_distance", "-3", "0.1", "between"),
        ("motion.marker_distance", "6.1", "-0.1", "negative"),
        ("motion.marker_distance", "6.1", "", "uncertainty"),
        ("source.count", "91.5", "", "whole number"),
        ("air.temperature", "400", "1", "between"),
        ("motion.second_time", "3.0", "0.01", "not later"),
        ("motion.second_time", "3.76", "0.0001", "faster than sound"),
    ],
)
def test_unusable_entries_are_explained(
    qtbot: QtBot, window: MainWindow, path: str, value: str, u: str, word: str
) -> None:
    fill_in(qtbot, window)
    row = window.hand.row(path)
    retype(qtbot, row.value, value)
    retype(qtbot, row.u, u)
    shown = [r.fault_text for r in window.hand.rows().values() if r.fault_text]
    assert len(shown) == 1
    assert word in shown[0]
    assert path not in shown[0]
    assert window.bench.prediction is None


def test_no_fault_while_still_typing(qtbot: QtBot, window: MainWindow) -> None:
    row = window.hand.row("motion.marker_distance")
    qtbot.mouseClick(row.value, Qt.MouseButton.LeftButton)
    qtbot.keyClicks(row.value, "6")
    assert row.fault_text == ""
    assert window.hand.advice.text() == row.field.hint
    qtbot.keyClick(row.value, Qt.Key.Key_Tab)
    assert row.fault_text == ""
    for part in (row.unit, row.about, row.u):
        qtbot.keyClick(part, Qt.Key.Key_Tab)
    assert "uncertainty" in row.fault_text


def test_undo_takes_back_whole_entries_by_name(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    row = window.hand.row("air.temperature")
    assert window.bench.undo_stack.undoText() == "change air temperature"
    retype(qtbot, row.value, "68")
    row.unit.setFocus()
    qtbot.keyClicks(row.unit, "°F")
    assert window.bench.session.entry("air.temperature").unit == "°F"
    steps = window.bench.undo_stack.count()
    while window.bench.session.entry("air.temperature").text != "20":
        qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
        steps -= 1
        assert steps > 0
    assert row.value.text() == "20"
    qtbot.keyClick(window, Qt.Key.Key_Y, Qt.KeyboardModifier.ControlModifier)
    assert row.value.text() == "68"


def test_a_passing_wheel_changes_nothing(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    before = window.bench.session
    row = window.hand.row("motion.marker_distance")
    for part in (row.value, row.unit, row.u, window.hand.kind, window.hand.formula):
        for focus in (False, True):
            if focus:
                part.setFocus()
            wheel(part, -2)
    assert window.bench.session == before


def test_another_kind_of_source_keeps_the_entries(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    window.hand.kind.setFocus()
    qtbot.keyClicks(window.hand.kind, "Known")
    assert "source.pitch" in window.hand.rows()
    assert "source.count" not in window.hand.rows()
    retype(qtbot, window.hand.row("source.pitch").value, "440")
    retype(qtbot, window.hand.row("source.pitch").u, "1")
    assert window.bench.prediction is not None
    assert window.bench.prediction.source_hz.value == pytest.approx(440)
    window.hand.kind.setFocus()
    qtbot.keyClick(window.hand.kind, Qt.Key.Key_Home)
    assert window.hand.row("source.count").value.text() == "92"


def test_saved_set_up_opens_again_by_drop(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    fill_in(qtbot, window)
    target = tmp_path / "setup.json"
    assert window.bench.save_setup(target)
    assert read_setup(target).entries["motion.marker_distance"].value == pytest.approx(6.1)
    speed = window.bench.prediction.speed_mps if window.bench.prediction else None
    for path in PAPER:
        retype(qtbot, window.hand.row(path).value, "")
    assert window.bench.prediction is None
    drop(window, [target])
    assert window.bench.prediction is not None
    assert window.bench.prediction.speed_mps == speed


def test_a_bad_set_up_leaves_the_form_as_it_was(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    fill_in(qtbot, window)
    before = window.bench.session
    bad = tmp_path / "bad.json"
    bad.write_text("{]")
    drop(window, [bad])
    assert window.bench.session == before
    assert "bad.json" in window.hand.banner.sentence
    assert window.hand.banner.isVisible()


def test_an_incomplete_set_up_is_not_saved(window: MainWindow, tmp_path: Path) -> None:
    assert not window.bench.save_setup(tmp_path / "setup.json")
    assert not (tmp_path / "setup.json").exists()
    assert "not complete" in window.hand.banner.sentence
