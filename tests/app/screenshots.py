"""Pictures of every step, for looking at: ``python tests/app/screenshots.py [FOLDER]``.

Walks the teacher's path with the invented pass-by of the window tests, at two sizes and in
every look, without a screen.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtCore import QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication
from tests.app.window.fakes import Core
from tests.app.window.hands import PAPER

from wayside.session.session import Entry
from wayside_app.window.bench import LOAD, MEASURE, PICTURE
from wayside_app.window.listen.player import SilentPlayer
from wayside_app.window.main_window import MainWindow
from wayside_app.window.theme.looks import LOOKS

SIZES = ((1280, 800), (1920, 1080))


def pause(milliseconds: int) -> None:
    """Let the window run; QTest.qWait would keep the interpreter from the other threads."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def wait_for(done: Callable[[], bool], most_ms: int = 30_000) -> None:
    """Let the window work until `done`."""
    for _ in range(most_ms // 20):
        pause(20)
        if done():
            return
    raise TimeoutError("the window did not get there")


def settle(window: MainWindow) -> None:
    """Let all work and drawing end."""
    runner = window.bench.runner
    pause(600)
    wait_for(lambda: not any(runner.busy(kind) for kind in (LOAD, MEASURE, PICTURE)))
    pause(150)


def type_paper(window: MainWindow, changes: dict[str, tuple[str, str]] | None = None) -> None:
    """Fill in the form."""
    for path, (value, u) in {**PAPER, **(changes or {})}.items():
        row = window.hand.row(path)
        window.bench.type_entry(path, Entry(value, row.field.unit, u), row.field.label)


def walk(folder: Path, look: str, size: tuple[int, int], workplace: Path) -> None:
    """Take every picture at one size in one look."""
    settings = QSettings(str(workplace / "s.ini"), QSettings.Format.IniFormat)
    settings.clear()
    window = MainWindow(Core().services(), settings, workplace / "unsaved", SilentPlayer)
    window.use_look(look)
    window.resize(*size)
    window.show()
    stem = f"{look.replace(' ', '-')}-{size[0]}"

    def take(step: str) -> None:
        settle(window)
        window.grab().save(str(folder / f"{step}-{stem}.png"))

    take("1-empty")
    recording = workplace / "courtyard.wav"
    recording.write_bytes(b"stand-in")
    window.open_path(recording)
    wait_for(lambda: window.bench.measurement is not None)
    take("2-sound")
    type_paper(window)
    take("3-agree")
    type_paper(window, {"source.loaded_radius": ("31.2", "0.1")})
    take("4-differ")
    type_paper(window, {"motion.marker_distance": ("six", "0.02")})
    window.bench.open_recording(workplace / "missing.wav")
    window.hand.row("motion.marker_distance").u.setFocus()
    take("5-faults")
    window.bench.undo_stack.clear()
    window.close()
    QApplication.processEvents()


def main() -> None:
    """Take all pictures."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication([])
    with tempfile.TemporaryDirectory() as workplace:
        for look in LOOKS:
            for size in SIZES:
                walk(folder, look, size, Path(workplace))
    del app


if __name__ == "__main__":
    main()
