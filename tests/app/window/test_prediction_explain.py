"""The sheet on what would explain a difference, from a recording and from pitches by ear."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from tests.app.window.hands import PAPER, choose, drop, fill_in, retype
from tests.app.window.test_prediction_budget import column

from wayside.session.document import read_session, write_session
from wayside_app.window.explain.explain_page import BY_EAR, BY_SOUND, ExplainPage
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import EXPLAIN

WRONG_RADIUS = {**PAPER, "source.loaded_radius": ("31.2", "0.4")}


def turn(qtbot: QtBot, window: MainWindow) -> ExplainPage:
    qtbot.keyClick(window, Qt.Key.Key_F6)
    page = window.pages.page(EXPLAIN)
    assert isinstance(page, ExplainPage)
    assert page.isVisible()
    return page


@pytest.fixture
def heard(qtbot: QtBot, window: MainWindow, sound_file: Path) -> MainWindow:
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20_000)
    return window


def test_a_wrong_radius_is_found_out_and_turned_round(qtbot: QtBot, heard: MainWindow) -> None:
    fill_in(qtbot, heard, WRONG_RADIUS)
    qtbot.mouseClick(heard.verdict.explain, Qt.MouseButton.LeftButton)
    page = heard.pages.page(EXPLAIN)
    assert isinstance(page, ExplainPage)
    assert "do not agree" in page.headline.text()
    assert page.table.text(0, 1) == "loaded wheel radius"
    # the invented truth: 412 Hz at 9.2 m/s, so r = N v/(2 pi f0) with N = 92
    needed = float(page.table.text(0, 3).split(" ")[0])
    assert needed == pytest.approx(100 * 92 * 9.2 / (2 * 3.14159265 * 412.0), abs=0.3)
    assert page.table.text(0, 5) == "✓ yes"
    assert "effective radius is then 32.6" in page.turned_round.text()
    stretches = [t for t, v in zip(column(page.table, 4), column(page.table, 5), strict=True) if v]
    assert stretches[0].endswith(" u")


def test_the_sentence_follows_the_chosen_row(qtbot: QtBot, heard: MainWindow) -> None:
    fill_in(qtbot, heard, WRONG_RADIUS)
    page = turn(qtbot, heard)
    assert page.sentence.text().startswith("1. Loaded wheel radius")
    page.table.setFocus()
    qtbot.keyClick(page.table, Qt.Key.Key_Down)
    row = page.table.currentRow()
    assert page.sentence.text().startswith(f"{row + 1}. ")


def test_agreement_needs_no_explanation(qtbot: QtBot, heard: MainWindow) -> None:
    fill_in(qtbot, heard)
    page = turn(qtbot, heard)
    assert "Nothing needs explaining" in page.list_heading.text()
    retype(qtbot, heard.hand.row("source.loaded_radius").value, "31.0")
    assert "would explain" in page.list_heading.text()


def test_without_a_recording_pitches_by_ear_serve(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    assert page.outcome.currentData() == BY_EAR
    assert page.ear.isVisible()
    rows = page.ear.rows
    for key, value, u in (("approach", "445", "1.5"), ("recede", "420", "1.5")):
        retype(qtbot, rows[f"heard.{key}"].value, value)
        retype(qtbot, rows[f"heard.{key}"].u, u)
    assert page.comparison is not None
    # c (fa - fr)/(fa + fr), any textbook
    row = page.comparison.row("speed_mps")
    assert row is not None
    assert row.measured.value == pytest.approx(343.0 * 25 / 865, rel=1e-6)
    assert page.table.rowCount() > 3


def test_a_bad_pitch_by_ear_is_told_at_its_field(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    row = page.ear.rows["heard.approach"]
    retype(qtbot, row.value, "high")
    page.ear.rows["heard.recede"].value.setFocus()
    assert "not a number" in row.fault_text
    assert row.value.text() == "high"
    assert page.comparison is None
    assert page.waiting.isVisible()


def test_ear_and_sound_are_chosen_and_saved(
    qtbot: QtBot, heard: MainWindow, tmp_path: Path
) -> None:
    fill_in(qtbot, heard)
    page = turn(qtbot, heard)
    assert page.outcome.currentData() == BY_SOUND
    page.outcome.setFocus()
    choose(qtbot, page.outcome, "judged")
    assert page.outcome.currentData() == BY_EAR
    assert page.ear.isVisible()
    retype(qtbot, page.ear.rows["heard.approach"].value, "445")
    file = tmp_path / "s.wayside.json"
    write_session(heard.bench.session, file)
    session = read_session(file)
    assert session.entry("heard.approach").text == "445"
    assert session.choices["heard.by"] == BY_EAR


def test_a_source_that_does_not_pass_says_so(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    window.hand.kind.setFocus()
    choose(qtbot, window.hand.kind, "Loud")
    for path, (value, u) in {
        "source.pitch": ("700", "1"),
        "source.circle_radius": ("0.9", "0.01"),
        "source.turns": ("10", ""),
        "source.turns_time": ("6.4", "0.1"),
        "source.listener_distance": ("5", "0.1"),
    }.items():
        row = window.hand.row(path)
        retype(qtbot, row.value, value)
        if u:
            retype(qtbot, row.u, u)
    page = turn(qtbot, window)
    for key, value in (("approach", "720"), ("recede", "680")):
        retype(qtbot, page.ear.rows[f"heard.{key}"].value, value)
        retype(qtbot, page.ear.rows[f"heard.{key}"].u, "2")
    assert "does not pass in a straight line" in page.waiting.text()
    assert not page.table.isVisible()
