"""Reports, worksheets and tables from the window: in the background, stopped, refused."""

from __future__ import annotations

import errno
import os
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import drop, fill_in

from wayside.session.document import SUFFIX
from wayside_app.window.main_window import MainWindow
from wayside_app.window.report.reporter import REPORT, Wanted

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


def choose(monkeypatch: pytest.MonkeyPatch, path: Path, kind: str = "") -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *a, **k: (str(path), kind))
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *a, **k: str(path))


@pytest.fixture
def measured(qtbot: QtBot, window: MainWindow, sound_file: Path) -> MainWindow:
    """A window with a recording measured and the form filled in."""
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    fill_in(qtbot, window)
    qtbot.waitUntil(lambda: not window.bench.runner.busy("measure"), timeout=20000)
    qtbot.waitUntil(lambda: window.bench.comparison is not None, timeout=20000)
    qtbot.wait(500)
    qtbot.waitUntil(lambda: not window.bench.runner.busy("measure"), timeout=20000)
    return window


def wait(qtbot: QtBot, window: MainWindow) -> None:
    qtbot.waitUntil(lambda: not window.bench.runner.busy(REPORT), timeout=20000)


def test_a_report_is_one_key_away(
    qtbot: QtBot, measured: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "lab.html"
    choose(monkeypatch, target)
    qtbot.keyClick(measured, Qt.Key.Key_R, CTRL)
    wait(qtbot, measured)
    assert measured.writing.isVisible()
    assert measured.writing.sentence == "lab.html is written."
    page = target.read_text(encoding="utf-8")
    comparison = measured.bench.comparison
    assert comparison is not None
    assert comparison.verdict in page
    assert "was not saved" in page, "an unsaved session cannot be named in a command"
    shown: list[QUrl] = []
    monkeypatch.setattr(QDesktopServices, "openUrl", shown.append)
    measured.writing.show_button.click()
    assert [url.toLocalFile() for url in shown] == [str(target)]
    measured.writing.dismiss.click()
    assert not measured.writing.isVisible()


def test_a_worksheet_as_pdf(
    qtbot: QtBot, measured: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    choose(monkeypatch, tmp_path / "lab", "PDF (*.pdf)")
    qtbot.keyClick(measured, Qt.Key.Key_R, CTRL | SHIFT)
    wait(qtbot, measured)
    assert measured.writing.sentence == "lab.pdf is written."
    assert (tmp_path / "lab.pdf").read_bytes().startswith(b"%PDF-")


def test_numbers_and_figures(
    qtbot: QtBot, measured: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "numbers"
    folder.mkdir()
    choose(monkeypatch, folder)
    qtbot.keyClick(measured, Qt.Key.Key_E, CTRL)
    wait(qtbot, measured)
    assert measured.writing.sentence == "Tables and figures are in numbers."
    made = {p.name for p in folder.iterdir()}
    assert {"fit.csv", "side_by_side.csv", "spectrogram.svg", "track.png"} <= made
    qtbot.keyClick(measured, Qt.Key.Key_E, CTRL)
    wait(qtbot, measured)
    assert measured.writing.sentence == (
        "“numbers” already holds pitch_track.csv; choose another folder."
    )


def test_a_saved_session_is_named_in_the_command(
    qtbot: QtBot, measured: MainWindow, tmp_path: Path
) -> None:
    assert measured.keeper.save(tmp_path / f"lab{SUFFIX}")
    measured.reporter.write(Wanted(tmp_path / "out.html", student=True))
    wait(qtbot, measured)
    page = (tmp_path / "out.html").read_text(encoding="utf-8")
    assert "wayside report lab.wayside.json -o out.html --student" in page


def test_with_several_runs_the_class_is_in_it(
    qtbot: QtBot, measured: MainWindow, tmp_path: Path
) -> None:
    bench = measured.bench
    session = bench.session
    copy = session.run.next(99)
    bench.edit("next run", type(session)(runs=(*session.runs, copy)))
    measured.reporter.write(Wanted(tmp_path / "out.html"))
    wait(qtbot, measured)
    assert "All 2 runs" in (tmp_path / "out.html").read_text(encoding="utf-8")


def test_it_can_be_stopped(
    qtbot: QtBot, measured: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    going = threading.Event()
    from wayside_app.window.report import reporter

    def slow(material: object, job: object) -> object:
        going.wait(10.0)
        return material

    monkeypatch.setattr(reporter, "worked_out", slow)
    measured.reporter.write(Wanted(tmp_path / "out.html"))
    assert measured.writing.progress.isVisible()
    assert measured.writing.sentence == "Writing out.html …"
    measured.writing.stop.click()
    going.set()
    wait(qtbot, measured)
    assert measured.writing.sentence == "Stopped; nothing was written."
    assert not (tmp_path / "out.html").exists()


def test_nothing_to_write_about(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    choose(monkeypatch, tmp_path / "out.html")
    qtbot.keyClick(window, Qt.Key.Key_R, CTRL)
    assert window.writing.sentence.startswith("There is nothing to write about yet")
    qtbot.keyClick(window, Qt.Key.Key_E, CTRL)
    assert not (tmp_path / "out.html").exists()


@pytest.mark.parametrize(
    ("code", "words"), [(errno.ENOSPC, "no space left on device"), (errno.EROFS, "read-only")]
)
def test_what_cannot_be_written_is_said(
    qtbot: QtBot,
    measured: MainWindow,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    code: int,
    words: str,
) -> None:
    def refuse(handle: int) -> None:
        raise OSError(code, os.strerror(code))

    old = tmp_path / "out.html"
    old.write_bytes(b"old")
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", refuse)
        measured.reporter.write(Wanted(old))
        wait(qtbot, measured)
    assert words in measured.writing.sentence
    assert old.read_bytes() == b"old"
    measured.reporter.write(Wanted(tmp_path / "gone" / "out.html"))
    wait(qtbot, measured)
    assert "cannot be written" in measured.writing.sentence


def test_a_report_of_a_refused_recording_says_why(
    qtbot: QtBot,
    make_window: Callable[[], MainWindow],
    core: Core,
    sound_file: Path,
    tmp_path: Path,
) -> None:
    core.found = False
    window = make_window()
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    window.reporter.write(Wanted(tmp_path / "out.html"))
    wait(qtbot, window)
    assert "nothing passed" in (tmp_path / "out.html").read_text(encoding="utf-8")
