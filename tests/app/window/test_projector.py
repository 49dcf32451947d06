"""The class's view, the numbers behind the plots, and the list of keys."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QFontMetricsF, QKeySequence
from PySide6.QtWidgets import QApplication, QDialog, QFileDialog
from pytestqt.qtbot import QtBot
from tests.app.window.hands import choose, drop, fill_in
from tests.invented import TRUTH

from wayside_app.window.keys_list import KeysList
from wayside_app.window.main_window import MainWindow
from wayside_app.window.twins.twin_table import TwinTable


@pytest.fixture
def heard(qtbot: QtBot, window: MainWindow, sound_file: Path) -> MainWindow:
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    fill_in(qtbot, window)
    return window


def test_projector_view_shows_verdict_picture_and_four_numbers(
    qtbot: QtBot, heard: MainWindow
) -> None:
    qtbot.keyClick(heard, Qt.Key.Key_F5)
    view = heard.projector
    qtbot.waitUntil(view.isVisible, timeout=5000)
    assert heard.sound.plot.isVisible()
    assert not heard.hand.isVisible()
    assert not heard.menuBar().isVisible()
    assert view.headline.text() == "✓ Hand and sound agree"
    texts = [label.text() for label in view.values.values()]
    assert len(texts) == 4
    assert texts[0].startswith("9.24")
    assert texts[1].startswith("9.200")
    # letters a thirtieth of the height: readable from eight widths (common practice, no source)
    for label in (view.headline, *view.values.values()):
        assert QFontMetricsF(label.font()).capHeight() >= view.height() / 30.0 - 1.0
    assert not heard.sound.plot.approach.region.isVisible()
    qtbot.keyClick(heard.sound.plot, Qt.Key.Key_Escape)
    assert not view.isVisible()
    assert heard.hand.isVisible()
    assert heard.sound.plot.isVisible()
    assert heard.sound.plot.approach.region.isVisible()
    assert heard.menuBar().isVisible()


def test_projector_view_without_a_recording_says_so(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F5)
    assert window.projector.nothing.isVisible()
    qtbot.keyClick(window, Qt.Key.Key_F5)
    assert not window.projector.isVisible()
    assert window.sound.invitation.isVisible()


def test_projector_view_follows_what_changes(
    qtbot: QtBot, heard: MainWindow, tmp_path: Path
) -> None:
    qtbot.keyClick(heard, Qt.Key.Key_F5)
    heard.bench.undo_stack.undo()
    assert heard.projector.values["hand", "speed_mps"].text() == "–"
    heard.bench.undo_stack.redo()
    assert heard.projector.values["hand", "speed_mps"].text().startswith("9.24")


def test_the_spectrograms_numbers_are_a_table(
    qtbot: QtBot, heard: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard.sound.plot.setFocus()
    qtbot.keyClick(heard.sound.plot, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    table = heard.findChild(TwinTable)
    assert table is not None
    model = table.view.model()
    assert model.rowCount() == heard.bench.measurement.track.times_s.size  # type: ignore[union-attr]
    qtbot.mouseClick(table.copy_button, Qt.MouseButton.LeftButton)
    rows = list(csv.reader(io.StringIO(QApplication.clipboard().text()), delimiter="\t"))
    fitted = rows[0].index("fitted (Hz)")
    numbers = np.array([[float(x) for x in row] for row in rows[1:]])
    assert numbers[:, fitted] == pytest.approx(TRUTH.pitch(numbers[:, 0]), rel=1e-7)
    target = tmp_path / "table.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *a, **k: (str(target), ""))
    qtbot.mouseClick(table.save_button, Qt.MouseButton.LeftButton)
    saved = list(csv.reader(io.StringIO(target.read_text(encoding="utf-8"))))
    assert saved == rows
    missing = tmp_path / "gone" / "table.csv"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *a, **k: (str(missing), ""))
    qtbot.mouseClick(table.save_button, Qt.MouseButton.LeftButton)
    assert "not saved" in table.fault.text()
    table.close()


@pytest.mark.parametrize("kind", ["level", "waveform", "residuals", "slowness"])
def test_every_plot_below_has_its_table(qtbot: QtBot, heard: MainWindow, kind: str) -> None:
    under = heard.sound.tools.under
    under.setFocus()
    choose(qtbot, under, kind)
    qtbot.waitUntil(heard.sound.under.isVisible, timeout=5000)
    series = heard.sound.under.series
    assert series is not None
    heard.sound.under.setFocus()
    qtbot.keyClick(heard.sound.under, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    table = heard.findChild(TwinTable)
    assert table is not None
    assert table.twin.heads == series.heads
    assert table.view.model().rowCount() == series.columns[0].size
    table.close()


def test_without_numbers_it_says_so(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_T, Qt.KeyboardModifier.ControlModifier)
    assert "no numbers yet" in window.banner.sentence


def test_the_list_of_keys_holds_every_shortcut(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.keyClick(window, Qt.Key.Key_F1, Qt.KeyboardModifier.ControlModifier)
    dialog = window.findChild(KeysList)
    assert dialog is not None
    listed = {dialog.table.item(row, 1).text() for row in range(dialog.table.rowCount())}
    native = QKeySequence.SequenceFormat.NativeText
    wanted = {
        action.shortcut().toString(native)
        for action in window.findChildren(QAction)
        if not action.shortcut().isEmpty()
    }
    assert wanted <= listed
    assert len(wanted) > 15
    shortcuts = [a.shortcut().toString() for a in window.actions() if not a.shortcut().isEmpty()]
    assert len(shortcuts) == len(set(shortcuts)), "one key, two meanings"
    assert isinstance(dialog, QDialog)
    dialog.close()


def test_alt_and_a_number_go_to_the_three_areas(qtbot: QtBot, heard: MainWindow) -> None:
    alt = Qt.KeyboardModifier.AltModifier
    for key, inside in (
        (Qt.Key.Key_1, heard.hand),
        (Qt.Key.Key_2, heard.sound),
        (Qt.Key.Key_3, heard.verdict),
    ):
        qtbot.keyClick(heard, key, alt)
        focused = QApplication.focusWidget()
        assert focused is not None
        assert inside.isAncestorOf(focused)
