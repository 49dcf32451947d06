"""Pictures of the runs: ``python -m tests.app.runs_screenshots [FOLDER [LOOK]]``.

Renders an invented class, three groups that ride to and fro past a buzzer's microphone in a light
wind, one of them with a wrongly read clock; then takes the list and the runs side by side, at two
sizes and in every look, without a screen. The best are kept in docs/screenshots.
"""

from __future__ import annotations

import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication
from tests.app.screenshots import SIZES, pause, settle, wait_for

from wayside.hand.entry import Entry
from wayside.hand.setup import Setup
from wayside.hand.setup_file import write_setup
from wayside_app.cli import main as wayside
from wayside_app.window.listen.player import SilentPlayer
from wayside_app.window.main_window import MainWindow
from wayside_app.window.runs.run_edits import edit_runs, show_run
from wayside_app.window.services import real_services
from wayside_app.window.theme.looks import LOOKS

GROUPS, PASSES = "ABC", 4
WIND_MPS, MISREAD = 2.0, ("B", 3)
MARKERS_M, FIRST_S = 4.0, 2.4


def make_class(folder: Path) -> list[Path]:
    """Render the recordings with a set-up beside each."""
    files = []
    for at, group in enumerate(GROUPS):
        for k in range(1, PASSES + 1):
            way = "out" if k % 2 else "back"
            speed = 5.4 + 0.2 * ((3 * at + k) % 5)
            stem = f"{group}{(k + 1) // 2}-{way}"
            path = folder / f"{stem}.flac"
            wind = WIND_MPS if way == "out" else -WIND_MPS
            options = ["--speed", f"{speed}", "--along-wind", f"{wind}", "--seed", f"{10 * at + k}"]
            wayside(["sample", "--kind", "tone", "--white", "15", *options, str(path)])
            wrong = 1.16 if (group, k) == MISREAD else 1.0
            write_setup(_paper(speed * wrong), folder / f"{stem}.setup.json")
            files.append(path)
    return files


def _paper(speed_mps: float) -> Setup:
    entries = {
        "motion.marker_distance": Entry(MARKERS_M, "m", 0.01),
        "motion.first_time": Entry(FIRST_S, "s", 0.005),
        "motion.second_time": Entry(round(FIRST_S + MARKERS_M / speed_mps, 3), "s", 0.005),
        "source.pitch": Entry(1100.0, "Hz", 1.0),
        "air.temperature": Entry(20.0, "°C", 0.5),
        "microphone.distance": Entry(2.5, "m", 0.03),
    }
    return Setup("tone", "humid-air", entries)


def walk(files: list[Path], folder: Path, look: str, size: tuple[int, int]) -> None:
    """Take every picture at one size in one look."""
    workplace = files[0].parent
    settings = QSettings(str(workplace / "s.ini"), QSettings.Format.IniFormat)
    settings.clear()
    window = MainWindow(real_services(), settings, workplace / "unsaved", SilentPlayer)
    window.use_look(look)
    window.resize(*size)
    window.show()
    bench = window.bench

    def take(step: str) -> None:
        settle(window)
        window.resize(*size)
        pause(100)
        window.grab().save(str(folder / f"{step}-{look.replace(' ', '-')}-{size[0]}.png"))

    window.open_dropped([*files, *(path.with_suffix(".setup.json") for path in files)])
    wait_for(lambda: bench.measurement is not None and not bench.rest.waiting())
    wait_for(lambda: not bench.rest.busy)
    runs = [
        replace(run, group=path.name[0])
        for run, path in zip(bench.session.runs, files, strict=True)
    ]
    edit_runs(bench, "groups", runs)
    odd = next(at for at, path in enumerate(files) if path.name.startswith("B2-out"))
    show_run(bench, odd)
    wait_for(lambda: bench.heard is not None)
    window.runs.page.table.choose(frozenset({bench.session.run.key}))
    take("runs-list")
    window.runs.toggle_review()
    take("runs-beside-hand")
    window.review.set_over(bench.session.runs[0].key)
    take("runs-beside-run")
    window.runs.leave_review()
    window.pages.turn_back()
    take("runs-front")
    bench.undo_stack.setClean()
    window.keeper.close()
    bench.close()
    window.deleteLater()
    QApplication.processEvents()


def main() -> None:
    """Take all pictures."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "screenshots")
    looks = [sys.argv[2]] if len(sys.argv) > 2 else list(LOOKS)
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication([])
    with tempfile.TemporaryDirectory() as workplace:
        files = make_class(Path(workplace))
        for look in looks:
            for size in SIZES:
                walk(files, folder, look, size)
    del app


if __name__ == "__main__":
    main()
