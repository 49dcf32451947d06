"""Several invented recordings, each with a truth of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.invented import TRUTH

from wayside_app.window.main_window import MainWindow

SPEEDS = {"a1-out": 9.2, "a2-back": 9.0, "b1-out": 9.3, "b2-back": 8.9, "b3-out": 9.1}


@pytest.fixture
def class_files(tmp_path: Path, core: Core) -> list[Path]:
    """Five recordings of two groups."""
    folder = tmp_path / "class"
    folder.mkdir()
    files = []
    for name, speed in SPEEDS.items():
        path = folder / f"{name}.wav"
        path.write_bytes(name.encode())
        core.truths[path.name] = replace(TRUTH, speed_mps=speed)
        files.append(path)
    return files


@pytest.fixture
def all_measured(qtbot: QtBot) -> Callable[[MainWindow], None]:
    """Return what waits until every run of a window is measured or has failed."""

    def wait(window: MainWindow) -> None:
        bench = window.bench

        def done() -> bool:
            shown = bench.session.run
            settled = bench.measurement is not None or bool(bench.runs.fault(shown))
            return settled and not bench.rest.busy and not bench.rest.waiting()

        qtbot.waitUntil(done, timeout=30000)

    return wait
