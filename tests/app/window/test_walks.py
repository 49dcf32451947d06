"""The three tasks of docs/interface.md, each walked from the empty window to the saved report.

With real mouse and key events; only the file dialog, which belongs to the desktop, is answered.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import PAPER, at_plot, drag, drop, fill_in, retype
from tests.app.window.language.shown import every_text

from wayside.session.document import SUFFIX, read_session
from wayside_app.window.bench import PICTURE
from wayside_app.window.main_window import MainWindow
from wayside_app.window.report.reporter import REPORT

CTRL = Qt.KeyboardModifier.ControlModifier
LEFT = Qt.MouseButton.LeftButton
SHIFT = Qt.KeyboardModifier.ShiftModifier
MakeWindow = Callable[..., MainWindow]


@pytest.fixture
def target(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return where the session will be saved; every file dialog answers with it."""
    path = tmp_path / f"walk{SUFFIX}"
    for name in ("getOpenFileName", "getSaveFileName"):
        monkeypatch.setattr(QFileDialog, name, lambda *a, **k: (str(path), ""))
    return path


def _measured(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20_000)
    qtbot.waitUntil(lambda: not window.bench.runner.busy(PICTURE), timeout=20_000)


def _save(qtbot: QtBot, window: MainWindow, target: Path) -> None:
    assert window.isWindowModified()
    qtbot.keyClick(window, Qt.Key.Key_S, CTRL)
    assert target.exists()
    assert not window.isWindowModified()
    assert window.banner.sentence == ""


def _reopened(qtbot: QtBot, window: MainWindow, make_window: MakeWindow) -> MainWindow:
    """Close the window and open what was saved in another."""
    window.close()
    second = make_window()
    qtbot.keyClick(second, Qt.Key.Key_O, CTRL)
    _measured(qtbot, second)
    return second


@pytest.fixture
def written(qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., str]:
    """Return a hand that writes the report with its key and reads the page."""

    def write(window: MainWindow, student: bool = False) -> str:
        page = tmp_path / ("worksheet.html" if student else "report.html")
        with monkeypatch.context() as patch:
            patch.setattr(QFileDialog, "getSaveFileName", lambda *a, **k: (str(page), ""))
            qtbot.keyClick(window, Qt.Key.Key_R, CTRL | SHIFT if student else CTRL)
        qtbot.waitUntil(lambda: not window.bench.runner.busy(REPORT), timeout=20_000)
        assert window.writing.sentence == f"{page.name} is written."
        return page.read_text(encoding="utf-8")

    return write


def test_the_teacher(
    qtbot: QtBot,
    make_window: MakeWindow,
    core: Core,
    target: Path,
    tmp_path: Path,
    written: Callable[..., str],
) -> None:
    window = make_window()
    film = tmp_path / "demonstration.mp4"
    film.write_bytes(b"stand-in")
    assert window.sound.invitation.headline.text() == "Drop a film or a recording here"

    drop(window, [film])
    qtbot.waitUntil(lambda: window.sound.progress.isVisible(), timeout=5000)
    assert window.sound.stop_button.isVisible()
    _measured(qtbot, window)
    assert not window.sound.progress.isVisible()
    assert window.sound.plot.overlays.fit.points[0].size > 0
    assert window.sound.plot.approach.span == pytest.approx((0.5, 2.5))
    assert window.verdict.headline.text().startswith("The sound says 9.200 ± 0.090 m/s")
    assert window.hand.film_button.isVisible()

    row = window.hand.row("motion.marker_distance")
    qtbot.mouseClick(row.value, LEFT)
    assert window.hand.advice.text() == row.field.hint
    waiting = []
    for path, entry in PAPER.items():
        fill_in(qtbot, window, {path: entry})
        waiting.append(window.hand.expectation.waiting.text())
    assert len(set(waiting[:-1])) == len(PAPER) - 1, "with every entry less is needed"
    assert window.sound.plot.overlays.prediction.points[0].size > 0
    assert window.verdict.headline.text() == "✓ Hand and sound agree"

    retype(qtbot, row.value, "5.60")
    assert window.verdict.headline.text() == "✗ Hand and sound disagree"
    assert "One wrong entry would explain it" in window.verdict.why.text()
    qtbot.mouseClick(window.verdict.explain, LEFT)
    assert window.pages.key == "explain"
    qtbot.keyClick(window.pages.currentWidget(), Qt.Key.Key_Escape)
    retype(qtbot, row.value, "6.10")
    assert window.verdict.headline.text() == "✓ Hand and sound agree"

    _save(qtbot, window, target)
    second = _reopened(qtbot, window, make_window)
    assert second.verdict.headline.text() == "✓ Hand and sound agree"
    assert second.hand.row("motion.marker_distance").value.text() == "6.10"
    page = written(second)
    comparison = second.bench.comparison
    assert comparison is not None
    assert comparison.verdict in page
    assert "wayside report walk.wayside.json" in page, "how to make it again"


def test_the_lab_group(
    qtbot: QtBot,
    make_window: MakeWindow,
    sound_file: Path,
    target: Path,
    written: Callable[..., str],
) -> None:
    window = make_window()
    drop(window, [sound_file])
    _measured(qtbot, window)

    plot = window.sound.plot
    pitch = sum(plot.box.viewRange()[1]) / 2
    start = at_plot(plot, 1.5, pitch)
    step = at_plot(plot, 1.2, pitch).x() - start.x()
    drag(plot.viewport(), start, start + QPoint(step, 0))
    qtbot.waitUntil(lambda: "±" in window.sound.numbers.readings["approach"].text(), timeout=5000)
    dragged = window.bench.session.windows.approach_s
    assert dragged == pytest.approx((0.2, 2.2), abs=0.05)

    box = window.sound.numbers.stops["recede"]
    qtbot.mouseClick(box.lineEdit(), LEFT)
    box.selectAll()
    qtbot.keyClicks(box, "7.0")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    _measured(qtbot, window)
    column = [row.split("\t")[3] for row in window.verdict.table.selected_text().splitlines()]
    assert all("±" in cell for cell in column), "every reading of the two windows is there"

    undo = window.bench.undo_stack
    assert undo.undoText() == "move the recede window"
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert undo.undoText() == "move the approach window"
    assert plot.recede.span == pytest.approx((5.6, 7.6))
    qtbot.keyClick(window, Qt.Key.Key_Y, CTRL)
    assert plot.recede.span == pytest.approx((5.6, 7.0))

    fill_in(qtbot, window)
    retype(qtbot, window.hand.row("air.temperature").value, "warm")
    assert "not a number" in window.hand.row("air.temperature").fault_text
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert window.hand.row("air.temperature").fault_text == ""
    assert window.verdict.headline.text() == "✓ Hand and sound agree"

    _save(qtbot, window, target)
    windows = read_session(target).windows
    assert windows.approach_s == dragged
    assert windows.recede_s == pytest.approx((5.6, 7.0))
    second = _reopened(qtbot, window, make_window)
    assert second.sound.plot.recede.span == pytest.approx((5.6, 7.0))
    sheet, report = written(second, student=True), written(second)
    comparison = second.bench.comparison
    assert comparison is not None
    # what the group is to find stands on its own pages at the end
    assert sheet.index("Answers") < sheet.index(comparison.verdict)
    assert report.index(comparison.verdict) < len(report) / 2


def test_the_class(
    qtbot: QtBot,
    make_window: MakeWindow,
    sound_file: Path,
    target: Path,
    written: Callable[..., str],
) -> None:
    window = make_window()
    drop(window, [sound_file])
    _measured(qtbot, window)
    fill_in(qtbot, window)
    _save(qtbot, window, target)

    window = _reopened(qtbot, window, make_window)
    qtbot.keyClick(window, Qt.Key.Key_F5)
    stage = window.projector
    assert stage.isVisible()
    assert not window.hand.isVisible()
    assert stage.headline.text() == "✓ Hand and sound agree"
    assert all("±" in value.text() for value in stage.values.values())
    assert stage.headline.font().pixelSize() * 0.73 >= window.height() / 30

    # Space plays to the class, arrows move the picture, Escape goes back
    before = window.sound.plot.box.viewRange()[0]
    qtbot.keyClick(window.sound.plot, Qt.Key.Key_Right)
    assert window.sound.plot.box.viewRange()[0] != pytest.approx(before)
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    assert not stage.isVisible()
    assert window.hand.isVisible()
    assert window.sound.plot.isVisible()

    # a class asks "what if": the sheet follows, and the saved file stays as it was
    retype(qtbot, window.hand.row("motion.marker_distance").value, "5.60")
    assert window.verdict.headline.text() == "✗ Hand and sound disagree"
    assert window.isWindowModified()
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert not window.isWindowModified()
    assert any("Hand and sound agree" in text for text in every_text(window))
    assert "walk.wayside.json" in written(window)
