"""Pictures of every step, for looking at: ``python tests/app/screenshots.py [FOLDER [LOOK]]``.

Walks the three tasks with a bundled sample, at two sizes and in every look, without a screen.
The best are kept in docs/screenshots.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication

from wayside.session.session import Entry
from wayside_app.window.bench import ENVELOPE, LOAD, MEASURE, PICTURE
from wayside_app.window.listen.player import SilentPlayer
from wayside_app.window.main_window import MainWindow
from wayside_app.window.services import real_services
from wayside_app.window.theme.looks import LOOKS

SIZES = ((1280, 800), (1920, 1080))
SAMPLES = Path(__file__).parents[2] / "sample_media"
RECORDING = SAMPLES / "courtyard-tread.flac"
SETUP = SAMPLES / "courtyard-tread.setup.json"


def pause(milliseconds: int) -> None:
    """Let the window run; QTest.qWait would keep the interpreter from the other threads."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def wait_for(done: Callable[[], bool], most_ms: int = 60_000) -> None:
    """Let the window work until `done`."""
    for _ in range(most_ms // 20):
        pause(20)
        if done():
            return
    raise TimeoutError("the window did not get there")


def settle(window: MainWindow) -> None:
    """Let all work and drawing end."""
    runner = window.bench.runner
    pause(700)
    kinds = (LOAD, MEASURE, PICTURE, ENVELOPE)
    wait_for(lambda: not any(runner.busy(kind) for kind in kinds))
    pause(200)


def walk(folder: Path, look: str, size: tuple[int, int], workplace: Path) -> None:
    """Take every picture at one size in one look."""
    settings = QSettings(str(workplace / "s.ini"), QSettings.Format.IniFormat)
    settings.clear()
    window = MainWindow(real_services(), settings, workplace / "unsaved", SilentPlayer)
    window.use_look(look)
    window.resize(*size)
    window.show()
    stem = f"{look.replace(' ', '-')}-{size[0]}"

    def take(step: str) -> None:
        settle(window)
        window.resize(*size)
        pause(50)
        window.grab().save(str(folder / f"{step}-{stem}.png"))

    def entry(path: str, value: str, u: str) -> None:
        row = window.hand.row(path)
        window.bench.type_entry(path, Entry(value, row.entry().unit, u), row.field.label)

    take("1-empty")
    window.open_path(RECORDING)
    wait_for(lambda: window.bench.measurement is not None)
    take("2-sound")
    window.open_path(SETUP)
    take("3-agree")
    entry("source.count", "54", "")
    entry("source.loaded_radius", "24.3", "0.05")
    take("4-differ")
    entry("motion.marker_distance", "four", "0.01")
    window.bench.open_recording(workplace / "missing.wav")
    window.hand.row("motion.marker_distance").u.setFocus()
    take("5-faults")
    for _ in range(3):
        window.bench.undo_stack.undo()
    window.sound.banner.say("")
    tools, plot = window.sound.tools, window.sound.plot
    tools.scale_.setCurrentIndex(2)
    tools.under.setCurrentIndex(4)
    window.sound.listen_button.setChecked(True)
    plot.cursor_.put(2.2, 268.0)
    take("6-looking")
    plot.cursor_.hide()
    tools.under.setCurrentIndex(0)
    tools.scale_.setCurrentIndex(0)
    window.sound.listen_button.setChecked(False)
    window.toggle_projector()
    take("7-projector")
    window.leave_projector()
    window.bench.undo_stack.clear()
    window.bench.undo_stack.setClean()
    window.close()
    QApplication.processEvents()


def main() -> None:
    """Take all pictures."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    looks = [sys.argv[2]] if len(sys.argv) > 2 else list(LOOKS)
    app = QApplication([])
    with tempfile.TemporaryDirectory() as workplace:
        for look in looks:
            for size in SIZES:
                walk(folder, look, size, Path(workplace))
    del app


if __name__ == "__main__":
    main()
