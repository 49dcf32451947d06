"""The sheet with the uncertainties: table, sampling in the background, picture, correlations."""

from __future__ import annotations

import time

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.hands import choose, fill_in, retype

from wayside.hand.monte_carlo import MonteCarlo
from wayside.hand.predict import Prediction
from wayside.jobs import Job
from wayside_app.window.budget.budget_page import BudgetPage
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import BUDGET
from wayside_app.window.pages.sheet_table import SheetTable


def turn(qtbot: QtBot, window: MainWindow) -> BudgetPage:
    fill_in(qtbot, window)
    qtbot.mouseClick(window.hand.expectation.budget, Qt.MouseButton.LeftButton)
    page = window.pages.page(BUDGET)
    assert isinstance(page, BudgetPage)
    return page


def column(table: SheetTable, at: int) -> list[str]:
    return [table.text(row, at) for row in range(table.rowCount())]


def test_the_budget_of_a_result_is_told_by_input(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert page.name == "approach_hz"
    names = column(page.table, 0)
    assert names[0].startswith("time at the")
    assert names[-1].startswith("together")
    shares = [float(text.removesuffix(" %")) for text in column(page.table, 5)[:-1]]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(100.0, abs=1.5)
    # f0 = v N/(2 pi r): 1 cm of 32.6 cm changes a pitch of about 427 Hz by 13.1 Hz
    radius = names.index("loaded wheel radius")
    assert column(page.table, 3)[radius] == "−13.1 Hz per cm"
    assert "comes from the time at the" in page.cause.text()


def test_another_result_is_chosen_by_key_and_kept(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    page.result.setFocus()
    choose(qtbot, page.result, "speed")
    assert page.name == "speed_mps"
    assert "loaded wheel radius" not in column(page.table, 0)
    retype(qtbot, window.hand.row("motion.marker_distance").value, "6.2")
    assert page.name == "speed_mps"
    assert page.value.text().startswith("9.39")


def test_sampling_comes_from_the_background(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert "Drawing" in page.state.text()
    qtbot.waitUntil(lambda: page.sampling.current, timeout=20_000)
    assert "200 000 times" in page.state.text()
    rows = dict(zip(column(page.sampled, 0), column(page.sampled, 6), strict=True))
    assert set(rows.values()) <= {"✓", "✗"}
    assert page.notes.text()
    sentence = page.picture.accessibleDescription()
    assert sentence.startswith("Histogram of the sampled approach pitch")
    assert sentence.endswith(".")


def test_sampling_shows_how_far_it_is_and_can_be_stopped(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slowly(prediction: Prediction, job: Job) -> MonteCarlo:
        while True:
            job.step(0.3, "Drawing the inputs at random")
            time.sleep(0.005)

    with monkeypatch.context() as patch:
        patch.setattr("wayside_app.window.budget.sampling.monte_carlo", slowly)
        page = turn(qtbot, window)
        qtbot.waitUntil(lambda: "30 %" in page.state.text(), timeout=5000)
        qtbot.mouseClick(page.stop, Qt.MouseButton.LeftButton)
        assert page.state.text().startswith("Stopped")
        assert not page.stop.isVisible()
    qtbot.mouseClick(page.again, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: page.sampling.current, timeout=20_000)
    assert not page.again.isVisible()


def test_where_both_differ_it_is_said(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    # a crossing known to a quarter of the time between: 1/t is far from straight over that
    retype(qtbot, window.hand.row("motion.second_time").u, "0.16")
    qtbot.waitUntil(lambda: page.sampling.current, timeout=20_000)
    rows = dict(zip(column(page.sampled, 0), column(page.sampled, 6), strict=True))
    assert rows["speed (m/s)"] == "✗"
    assert "differ in: speed" in page.notes.text()


def test_a_newer_entry_replaces_the_sampling_under_way(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    for text in ("6.2", "6.3", "6.4"):
        retype(qtbot, window.hand.row("motion.marker_distance").value, text)
    qtbot.waitUntil(lambda: page.sampling.current, timeout=20_000)
    found = page.sampling.found
    assert found is not None
    # 6.4 m in 0.66 s
    assert found.results["speed_mps"].mean == pytest.approx(6.4 / 0.66, rel=0.01)


def test_an_emptied_form_stops_it_all(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    retype(qtbot, window.hand.row("air.temperature").value, "")
    assert page.waiting.isVisible()
    assert not page.table.isVisible()
    assert page.sampling.found is None
    assert not page.sampling.drawing


def test_few_repeats_widen_the_interval(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    before = page.interval.text()
    assert "k = 1.96" in before
    retype(qtbot, window.hand.row("source.loaded_radius").value, "32.1 33.4 31.9")
    assert "effective degrees of freedom" in page.interval.text()


def test_correlations_are_shown_both_ways(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    n = page.together.rowCount()
    for a in range(n):
        assert page.together.text(a, a + 1) == "1.00"
        for b in range(n):
            assert page.together.text(a, b + 1) == page.together.text(b, a + 1)


def test_tables_are_copied_as_text(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    page.table.setFocus()
    page.table.clearSelection()
    qtbot.keyClick(page.table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    lines = QApplication.clipboard().text().split("\n")
    assert lines[0].split("\t") == ["input", "value", "u", "sensitivity", "adds ±", "share of u²"]
    assert len(lines) == page.table.rowCount() + 1
