"""Pictures of every step of the three tasks, for looking at: ``python tests/app/screenshots.py``.

Walks the tasks of docs/interface.md with the bundled samples, without a screen; ``--help`` lists
what can be chosen. The best are kept in docs/screenshots.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEventLoop, QSettings, QTimer
from PySide6.QtWidgets import QApplication

from wayside.session.session import Entry, Windows
from wayside_app.window.bench import ENVELOPE, LOAD, MEASURE, PICTURE
from wayside_app.window.language.dictionary import ENGLISH, GERMAN, LANGUAGES
from wayside_app.window.language.speaking import use_language
from wayside_app.window.listen.player import SilentPlayer
from wayside_app.window.main_window import MainWindow
from wayside_app.window.services import real_services
from wayside_app.window.theme.looks import LOOKS

SIZES = ((1280, 800), (1920, 1080))
SAMPLES = Path(__file__).parents[2] / "sample_media"
RECORDING = SAMPLES / "courtyard-tread.flac"
SETUP = SAMPLES / "courtyard-tread.setup.json"
FILM = SAMPLES / "courtyard-film.mp4"
FILM_SETUP = SAMPLES / "courtyard-film.setup.json"


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


@dataclass
class Camera:
    """One window and where its pictures go."""

    window: MainWindow
    folder: Path
    size: tuple[int, int]
    stem: str
    taken: list[Path] = field(default_factory=list)

    def take(self, step: str, busy: bool = False) -> None:
        """Take a picture once everything stands still, or at once while work is under way."""
        if not busy:
            settle(self.window)
        self.window.resize(*self.size)
        pause(50)
        path = self.folder / f"{step}-{self.stem}.png"
        self.window.grab().save(str(path))
        self.taken.append(path)

    def type(self, path: str, value: str, u: str) -> None:
        """Fill in an entry of the form."""
        row = self.window.hand.row(path)
        self.window.bench.type_entry(path, Entry(value, row.entry().unit, u), row.field.label)

    def measured(self) -> bool:
        """Tell whether there is a measurement."""
        return self.window.bench.measurement is not None


def teacher(camera: Camera) -> None:
    """Drop the film, fill in the form, read the verdict."""
    window = camera.window
    camera.take("teacher-1-start")
    window.open_path(FILM)
    wait_for(lambda: window.bench.heard is not None)
    camera.take("teacher-2-measuring", busy=True)
    wait_for(camera.measured)
    camera.take("teacher-3-sound")
    window.bench.open_setup(FILM_SETUP)
    whole = window.bench.session
    camera.type("motion.second_time", "", "")
    camera.take("teacher-4-form")
    window.bench.put_session(whole)
    camera.take("teacher-5-agree")
    camera.type("motion.marker_distance", "2.1", "0.01")
    camera.take("teacher-6-differ")


def lab_group(camera: Camera) -> None:
    """Measure an own recording, read in the windows, fill in the form, mistype, look closer."""
    window = camera.window
    window.open_path(RECORDING)
    wait_for(camera.measured)
    camera.take("lab-1-sound")
    windows = Windows((0.6, 1.2), (3.6, 4.4))
    window.bench.set_windows(windows, window.tr("move the approach window"))
    camera.take("lab-2-windows")
    window.open_path(SETUP)
    camera.take("lab-3-agree")
    camera.type("motion.marker_distance", "four", "0.01")
    window.bench.open_recording(camera.folder / "missing.wav")
    window.hand.row("motion.marker_distance").u.setFocus()
    camera.take("lab-4-faults")
    window.bench.undo_stack.undo()
    window.sound.banner.say("")
    tools, plot = window.sound.tools, window.sound.plot
    tools.scale_.setCurrentIndex(2)
    tools.under.setCurrentIndex(4)
    window.sound.listen_button.setChecked(True)
    plot.cursor_.put(2.2, 268.0)
    camera.take("lab-5-looking")
    plot.cursor_.hide()
    tools.under.setCurrentIndex(0)
    tools.scale_.setCurrentIndex(0)
    window.sound.listen_button.setChecked(False)


def class_review(camera: Camera) -> None:
    """Show a class a verdict that agrees, and one that does not."""
    window = camera.window
    window.open_path(SETUP)
    window.open_path(RECORDING)
    wait_for(camera.measured)
    camera.take("class-1-agree")
    window.toggle_projector()
    camera.take("class-2-agree-projector")
    window.leave_projector()
    camera.type("source.count", "54", "")
    camera.type("source.loaded_radius", "24.3", "0.05")
    camera.take("class-3-differ")
    window.toggle_projector()
    camera.take("class-4-differ-projector")
    window.leave_projector()


TASKS: dict[str, Callable[[Camera], None]] = {
    "teacher": teacher,
    "lab": lab_group,
    "class": class_review,
}


KEPT = {
    "start-light": ("teacher", "teacher-1-start", "light", ENGLISH),
    "verdict-agree-light": ("class", "class-1-agree", "light", ENGLISH),
    "verdict-differ-light": ("class", "class-3-differ", "light", ENGLISH),
    "projector-light": ("class", "class-2-agree-projector", "light", ENGLISH),
    "projector-dark-german": ("class", "class-4-differ-projector", "dark", GERMAN),
    "verdict-differ-german": ("class", "class-3-differ", "light", GERMAN),
}
"""Pictures of docs/screenshots: task, step, look and language of each; the smaller size."""


def walk(
    task: str, folder: Path, look: str, size: tuple[int, int], language: str = ENGLISH
) -> list[Path]:
    """Take every picture of a task at one size in one look; return where they are."""
    with tempfile.TemporaryDirectory() as workplace:
        settings = QSettings(str(Path(workplace) / "s.ini"), QSettings.Format.IniFormat)
        window = MainWindow(real_services(), settings, Path(workplace) / "unsaved", SilentPlayer)
        window.use_look(look)
        window.resize(*size)
        window.show()
        stem = f"{look.replace(' ', '-')}-{size[0]}-{language}"
        camera = Camera(window, folder, size, stem)
        TASKS[task](camera)
        window.bench.undo_stack.clear()
        window.bench.undo_stack.setClean()
        window.close()
        QApplication.processEvents()
    return camera.taken


def keep(folder: Path) -> None:
    """Take the pictures of docs/screenshots anew."""
    app = QApplication.instance() or QApplication([])
    with tempfile.TemporaryDirectory() as workplace:
        for task, look, language in dict.fromkeys((t, k, g) for t, _, k, g in KEPT.values()):
            use_language(app, language)
            for path in walk(task, Path(workplace), look, SIZES[0], language):
                for name, (_, step, *rest) in KEPT.items():
                    if path.name.startswith(f"{step}-") and rest == [look, language]:
                        shutil.copy(path, folder / f"{name}.png")
                        print(folder / f"{name}.png")
    use_language(app, ENGLISH)


def main(words: Sequence[str] | None = None) -> int:
    """Take the pictures asked for."""
    parser = arguments("Pictures of every step of the three tasks.")
    parser.add_argument("--task", action="append", choices=tuple(TASKS), help="one task; all else")
    parser.add_argument("--kept", action="store_true", help="only those of docs/screenshots")
    args = parser.parse_args(words)
    args.folder.mkdir(parents=True, exist_ok=True)
    if args.kept:
        keep(args.folder)
        return 0
    app = QApplication.instance() or QApplication([])
    use_language(app, args.language)
    for task in args.task or TASKS:
        for look in args.look or LOOKS:
            for size in sizes_of(args):
                for path in walk(task, args.folder, look, size, args.language):
                    print(path)
    use_language(app, ENGLISH)
    return 0


def arguments(description: str) -> argparse.ArgumentParser:
    """Return a reader of what every picture taker can be told."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument(
        "folder", nargs="?", type=Path, default=Path("screenshots"), help="where they go"
    )
    parser.add_argument("--look", action="append", choices=tuple(LOOKS), help="one look; all else")
    widths = tuple(size[0] for size in SIZES)
    parser.add_argument("--width", type=int, choices=widths, help="one size; both else")
    parser.add_argument("--language", choices=tuple(LANGUAGES), default=ENGLISH)
    return parser


def sizes_of(args: argparse.Namespace) -> list[tuple[int, int]]:
    """Return the sizes asked for."""
    return [size for size in SIZES if args.width in (None, size[0])]


if __name__ == "__main__":
    sys.exit(main())
