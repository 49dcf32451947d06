"""Window tests: no screen, own settings, and nothing left behind - no warning, window or thread."""

from __future__ import annotations

import gc
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import shiboken6
from PySide6.QtCore import QCoreApplication, QEvent, QLocale, QSettings, QThread
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core

from wayside_app.window.listen.player import Player, SilentPlayer
from wayside_app.window.main_window import MainWindow

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Fail on any Qt warning in this folder; offscreen says one harmless thing of its own."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.qt_log_level_fail("WARNING"))
            item.add_marker(
                pytest.mark.qt_log_ignore(
                    "This plugin does not support propagateSizeHints", extend=True
                )
            )


def _threads() -> int:
    return len(os.listdir("/proc/self/task"))


def _python_threads() -> int:
    """Count threads that Python made; a stand-in for one of Qt's pool outlives it by design."""
    return sum(not isinstance(t, threading._DummyThread) for t in threading.enumerate())


@pytest.fixture(autouse=True)
def nothing_left_behind(qapp: QApplication) -> Iterator[None]:
    """Fail a test that leaves a window, a Python thread or more threads than Qt's own pool."""
    QLocale.setDefault(QLocale.c())
    # choosing by first letters starts afresh after this pause
    QApplication.setKeyboardInputInterval(100)
    allowed = _threads() + QThread.idealThreadCount()
    python_threads = _python_threads()
    yield
    for _ in range(40):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        QCoreApplication.processEvents()
        if not QApplication.topLevelWidgets():
            break
        gc.collect()
    left = [type(w).__name__ for w in QApplication.topLevelWidgets()]
    assert not left, f"windows left: {left}"
    assert _python_threads() <= python_threads, "Python threads left"
    assert _threads() <= allowed, "threads left"


@pytest.fixture
def core() -> Core:
    """A core with one invented pass-by."""
    return Core()


@pytest.fixture
def settings(tmp_path: Path) -> QSettings:
    """Settings of this test alone."""
    return QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)


@pytest.fixture
def sound_file(tmp_path: Path) -> Path:
    """A file the stand-in core will read."""
    path = tmp_path / "pass.wav"
    path.write_bytes(b"stand-in")
    return path


@pytest.fixture
def make_window(
    qtbot: QtBot, core: Core, settings: QSettings, tmp_path: Path
) -> Iterator[Callable[..., MainWindow]]:
    """Return a maker of shown windows, which are closed at the end."""
    made: list[MainWindow] = []

    def make(player: Player | None = None) -> MainWindow:
        window = MainWindow(
            core.services(), settings, tmp_path / "unsaved", lambda: player or SilentPlayer()
        )
        window.resize(1280, 800)
        window.show()
        qtbot.waitExposed(window)
        window.activateWindow()
        qtbot.waitUntil(window.isActiveWindow, timeout=5000)
        made.append(window)
        return window

    yield make
    for window in made:
        if not shiboken6.isValid(window):
            continue
        assert window.bench.close(), "work did not stop in time"
        window.bench.undo_stack.clear()
        window.bench.undo_stack.setClean()
        runner = window.bench.runner
        window.close()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        assert not shiboken6.isValid(runner), "the window's job runner outlived it"


@pytest.fixture
def window(make_window: Callable[..., MainWindow]) -> MainWindow:
    """One shown window."""
    return make_window()
