"""Sessions in the window: saved, reopened, moved, recovered; never a lost entry."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication, QFileDialog, QMessageBox
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import drop, fill_in, retype

from wayside.session.document import SUFFIX, read_session
from wayside_app.window.main_window import MainWindow

CTRL = Qt.KeyboardModifier.ControlModifier


def _choose(monkeypatch: pytest.MonkeyPatch, path: Path | None) -> None:
    """Let every file dialog answer with this path."""
    answer = ("" if path is None else str(path), "")
    for name in ("getOpenFileName", "getSaveFileName"):
        monkeypatch.setattr(QFileDialog, name, lambda *a, **k: answer)


@contextmanager
def _answer(button: QMessageBox.StandardButton) -> Iterator[None]:
    """Click a button of the question that comes up meanwhile, as one must."""
    answered = []

    def click() -> None:
        # a busy machine may take its time until the question is up, which then waits for good
        box = QApplication.activeModalWidget()
        if isinstance(box, QMessageBox):
            asked.stop()
            answered.append(box)
            box.button(button).click()

    asked = QTimer(interval=20)
    asked.timeout.connect(click)
    asked.start()
    yield
    asked.stop()
    assert answered, "nothing was asked"


def _hear(qtbot: QtBot, window: MainWindow, path: Path) -> None:
    drop(window, [path])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)


def test_saved_and_reopened_everything_is_there(
    qtbot: QtBot,
    make_window: Callable[[], MainWindow],
    sound_file: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    window = make_window()
    _hear(qtbot, window, sound_file)
    fill_in(qtbot, window)
    row = window.hand.row("source.loaded_radius")
    retype(qtbot, row.value, "thirty")
    window.sound.numbers.stops["recede"].setFocus()
    window.sound.numbers.stops["recede"].selectAll()
    qtbot.keyClicks(window.sound.numbers.stops["recede"], "6.8")
    qtbot.keyClick(window.sound.numbers.stops["recede"], Qt.Key.Key_Return)
    assert window.isWindowModified()
    _choose(monkeypatch, tmp_path / "lab")
    qtbot.keyClick(window, Qt.Key.Key_S, CTRL)
    target = tmp_path / f"lab{SUFFIX}"
    assert target.exists()
    assert not window.isWindowModified()
    assert "lab" in window.windowTitle()
    saved = window.bench.session
    window.close()

    second = make_window()
    assert second.preferences.recent == [target]
    _choose(monkeypatch, target)
    qtbot.keyClick(second, Qt.Key.Key_O, CTRL)
    qtbot.waitUntil(lambda: second.bench.measurement is not None, timeout=20000)
    assert second.bench.session == saved
    assert second.hand.row("source.loaded_radius").value.text() == "thirty"
    assert second.sound.plot.recede.span == pytest.approx((5.6, 6.8))
    assert not second.isWindowModified()


def test_save_again_needs_no_question(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / f"a{SUFFIX}"
    fill_in(qtbot, window)
    _choose(monkeypatch, target)
    assert window.save_session()
    _choose(monkeypatch, None)
    retype(qtbot, window.hand.row("air.temperature").value, "21")
    assert window.isWindowModified()
    qtbot.keyClick(window, Qt.Key.Key_S, CTRL)
    assert read_session(target).entry("air.temperature").text == "21"
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert window.isWindowModified(), "undo past the save is a change"


def test_closing_with_changes_asks(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill_in(qtbot, window)
    buttons = QMessageBox.StandardButton
    with _answer(buttons.Cancel):
        window.close()
    assert window.isVisible()
    _choose(monkeypatch, None)
    with _answer(buttons.Save):
        window.close()
    assert window.isVisible(), "no name was given, so nothing was saved and nothing closes"
    _choose(monkeypatch, tmp_path / "kept")
    with _answer(buttons.Save):
        window.close()
    assert read_session(tmp_path / f"kept{SUFFIX}").entry("air.temperature").text == "20"


def test_new_starts_empty_after_asking(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    with _answer(QMessageBox.StandardButton.Discard):
        qtbot.keyClick(window, Qt.Key.Key_N, CTRL)
    assert window.hand.row("air.temperature").value.text() == ""
    assert not window.isWindowModified()
    assert not window.bench.undo_stack.canUndo()


def test_a_bad_session_changes_nothing(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    fill_in(qtbot, window)
    before = window.bench.session
    newer = tmp_path / f"newer{SUFFIX}"
    newer.write_text('{"format": "wayside-session", "version": 99}')
    with _answer(QMessageBox.StandardButton.Discard):
        drop(window, [newer])
    assert "newer program" in window.banner.sentence
    assert window.bench.session == before
    assert "99" in newer.read_text()


def test_a_moved_recording_is_asked_for_and_found(
    qtbot: QtBot,
    window: MainWindow,
    sound_file: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    _hear(qtbot, window, sound_file)
    box = window.sound.numbers.stops["recede"]
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, "6.8")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    target = tmp_path / f"a{SUFFIX}"
    assert window.keeper.save(target)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    moved = sound_file.rename(elsewhere / "renamed.wav")
    drop(window, [target])
    assert "no longer where it was" in window.sound.banner.sentence
    _choose(monkeypatch, moved)
    qtbot.mouseClick(window.sound.banner.action, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.bench.heard is not None, timeout=20000)
    assert window.bench.session.windows.recede_s == pytest.approx((5.6, 6.8))
    assert window.bench.session.media is not None
    assert Path(window.bench.session.media.path) == moved


def test_another_recording_under_the_old_name_is_noticed(
    qtbot: QtBot, window: MainWindow, sound_file: Path, tmp_path: Path
) -> None:
    _hear(qtbot, window, sound_file)
    target = tmp_path / f"a{SUFFIX}"
    assert window.keeper.save(target)
    sound_file.write_bytes(b"STAND-IN")
    drop(window, [target])
    qtbot.waitUntil(lambda: window.bench.heard is not None, timeout=20000)
    assert "content differs" in window.sound.banner.sentence


def test_one_session_in_two_windows_is_refused(
    qtbot: QtBot, make_window: Callable[[], MainWindow], tmp_path: Path
) -> None:
    first, second = make_window(), make_window()
    target = tmp_path / f"a{SUFFIX}"
    assert first.keeper.save(target)
    assert not second.keeper.open(target)
    assert "another window" in second.banner.sentence
    assert not second.keeper.save(target)
    first.close()
    assert second.keeper.open(target)


def test_a_full_or_read_only_folder_is_said(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    fill_in(qtbot, window)
    assert not window.keeper.save(tmp_path / "gone" / "a")
    assert "not saved" in window.banner.sentence
    assert window.isWindowModified()


def test_saving_clears_the_private_copy(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    unsaved = tmp_path / "unsaved"
    window.keeper.keep_now()
    assert not unsaved.exists(), "nothing to keep yet"
    fill_in(qtbot, window)
    window.keeper.keep_now()
    assert len(list(unsaved.glob(f"*{SUFFIX}"))) == 1
    assert window.keeper.orphans() == [], "a living window's copy is no orphan"
    assert window.keeper.save(tmp_path / "a")
    assert not list(unsaved.glob(f"*{SUFFIX}"))


CRASHER = """
import sys
from pathlib import Path
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from tests.app.window.fakes import Core
from wayside.session.session import Entry
from wayside_app.window.main_window import MainWindow

app = QApplication([])
place = Path(sys.argv[1])
settings = QSettings(str(place / "s.ini"), QSettings.Format.IniFormat)
window = MainWindow(Core().services(), settings, place / "unsaved")
window.show()
window.bench.type_entry("motion.marker_distance", Entry("6.1", "m", "0.0"), "distance")
window.keeper.keep_now()
print("kept", flush=True)
while True:
    window.bench.type_entry("motion.marker_distance", Entry("6.1", "m", "0.02"), "distance")
    window.keeper.keep_now()
"""


def test_work_of_a_killed_window_is_offered_again(
    qtbot: QtBot, make_window: Callable[[], MainWindow], core: Core, tmp_path: Path
) -> None:
    crasher = subprocess.Popen(
        [sys.executable, "-c", CRASHER, str(tmp_path)],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": os.getcwd()},
    )
    assert crasher.stdout is not None
    assert crasher.stdout.readline() == b"kept\n"
    crasher.send_signal(signal.SIGKILL)
    crasher.wait()
    crasher.stdout.close()
    window = make_window()
    window.offer_recovery()
    assert "did not end properly" in window.banner.sentence
    qtbot.mouseClick(window.banner.action, Qt.MouseButton.LeftButton)
    assert window.hand.row("motion.marker_distance").value.text() == "6.1"
    assert window.isWindowModified()
    assert window.keeper.orphans() == []


def test_offered_work_can_be_thrown_away(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    unsaved = tmp_path / "unsaved"
    unsaved.mkdir()
    orphan = unsaved / f"x{SUFFIX}"
    window.keeper.save(tmp_path / "a")
    orphan.write_bytes((tmp_path / f"a{SUFFIX}").read_bytes())
    window.offer_recovery()
    assert window.banner.isVisible()
    qtbot.mouseClick(window.banner.dismiss, Qt.MouseButton.LeftButton)
    assert not orphan.exists()
