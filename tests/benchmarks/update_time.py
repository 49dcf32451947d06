"""How long a changed value takes to be seen: one keystroke's work, sheet by sheet.

Writes update_time.csv and update_time.md. The time is the processor time of the window's thread
from the edit to the painted window, so that other programs do not count; beside it, as a measure
that does not depend on the machine, how many predictions could have been worked out meanwhile.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEvent, QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication
from tests.app.window.fakes import Core
from tests.app.window.hands import PAPER
from tests.benchmarks.harness import Kept, machine, markdown, parser

from wayside.hand.predict import predict
from wayside.session.session import Entry
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import titles

COLUMNS = ("what is seen", "edit to picture (ms)", "in predictions", "asked for")
_EDITS = 15
_PATH = "motion.marker_distance"


def cpu_ms(work: Callable[[], object]) -> float:
    """Return the processor time of this thread spent in a call (ms)."""
    begin = time.thread_time()
    work()
    return 1e3 * (time.thread_time() - begin)


def pause(milliseconds: int) -> None:
    """Let the window run."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def measure_all(workplace: Path) -> dict[str, tuple[float, float]]:
    """Return the median time of an edit (ms), and the same in predictions, by sheet."""
    app = QApplication.instance() or QApplication([])
    settings = QSettings(str(workplace / "s.ini"), QSettings.Format.IniFormat)
    window = MainWindow(Core().services(), settings, workplace / "unsaved")
    window.resize(1280, 800)
    window.show()
    recording = workplace / "pass.wav"
    recording.write_bytes(b"stand-in")
    window.open_path(recording)
    while window.bench.measurement is None:
        pause(20)
    for path, (value, u) in {**PAPER, "microphone.distance": ("2.4", "0.05")}.items():
        field = window.hand.row(path).field
        window.bench.type_entry(path, Entry(value, field.unit, u), field.label)
    found = {"recording and verdict": _one(window)}
    for key, title in titles().items():
        window.pages.turn_to(key)
        found[title] = _one(window)
    window.bench.undo_stack.setClean()
    window.bench.close()
    window.keeper.close()
    window.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    app.processEvents()
    return found


def _one(window: MainWindow) -> tuple[float, float]:
    pause(1500)
    edits, predictions = [], []
    for k in range(_EDITS):
        entry = Entry(f"6.{10 + k}", "m", "0.02")

        def edit(entry: Entry = entry) -> None:
            window.bench.type_entry(_PATH, entry, "distance")
            QApplication.processEvents()

        edits.append(cpu_ms(edit))
        setup = window.bench.reading.setup
        assert setup is not None
        predictions.append(cpu_ms(lambda setup=setup: predict(setup)))
    median = statistics.median(edits)
    return median, median / statistics.median(predictions)


def main() -> None:
    """Measure, write the table and print it."""
    options = parser(__doc__, "update_time")
    options.add_argument("--json", action="store_true", help="print JSON and write nothing")
    args = options.parse_args()
    with tempfile.TemporaryDirectory() as workplace:
        found = measure_all(Path(workplace))
    if args.json:
        print(json.dumps(found))
        return
    kept = Kept(args.out / "update_time.csv", COLUMNS)
    for name, (ms, times) in found.items():
        kept.keep(dict(zip(COLUMNS, (name, ms, times, "under 50 ms"), strict=True)))
    table = markdown(COLUMNS, list(kept.rows.values()))
    (args.out / "update_time.md").write_text(
        "# From a changed value to the changed picture\n\n"
        "Processor time of the window's thread, median of "
        f"{_EDITS} edits of the marker distance, window of 1280 x 800 without a screen.\n\n"
        f"{table}\nMade by `python -m tests.benchmarks.update_time`. {machine()}\n",
        encoding="utf-8",
    )
    print(table)


if __name__ == "__main__":
    main()
    sys.stdout.flush()
