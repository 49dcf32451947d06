"""Writes what the window shows as a report, a worksheet or tables, behind the window's back."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QWidget

from wayside.errors import InputError, WaysideError
from wayside.jobs import Job
from wayside.report.make import make_html, make_report
from wayside.report.material import Bundle, Made, Material, frames_of, versions, worked_out
from wayside.report.numbers import FILES, figures_of, tables_of
from wayside.report.writing import HTML, PDF, SUFFIXES, write_folder, write_out
from wayside.review.row import RunRow
from wayside_app.window.bench import MEASURE, Bench
from wayside_app.window.document.keeper import Keeper
from wayside_app.window.hints import measure_options
from wayside_app.window.jobs import Task
from wayside_app.window.report.writing_bar import WritingBar
from wayside_app.window.settings import Preferences

REPORT = "report"


@dataclass(frozen=True)
class Wanted:
    """What to write.

    Parameters
    ----------
    target : Path
        A file, or a folder for tables.
    student : bool
        A worksheet instead of a report.
    """

    target: Path
    student: bool = False


class Reporter(QObject):
    """Asks where, collects what the window holds, and writes it.

    Parameters
    ----------
    bench : Bench
    keeper : Keeper
        Knows the session's file, for the command line that repeats the report.
    preferences : Preferences
    bar : WritingBar
    parent : QWidget
    """

    def __init__(
        self,
        bench: Bench,
        keeper: Keeper,
        preferences: Preferences,
        bar: WritingBar,
        parent: QWidget,
    ) -> None:
        super().__init__(parent)
        self._bench, self._keeper, self._preferences = bench, keeper, preferences
        self._bar, self._window = bar, parent
        bench.runner.progress.connect(self._go_on)
        bar.stop_wanted.connect(partial(bench.runner.stop, REPORT))

    def ask_report(self, student: bool = False) -> None:
        """Let the user choose where a report or a worksheet goes, and write it."""
        if not self._ready():
            return
        stem = self.tr("worksheet") if student else self.tr("report")
        page = self.tr("Web page ({patterns})").format(patterns=f"*{HTML}")
        paper = self.tr("PDF ({patterns})").format(patterns=f"*{PDF}")
        path, chosen = QFileDialog.getSaveFileName(
            self._window,
            self.tr("Write a worksheet") if student else self.tr("Write a report"),
            str(Path(self._preferences.folder) / f"{stem}{HTML}"),
            f"{page};;{paper}",
        )
        if path:
            target = Path(path)
            if target.suffix.lower() not in SUFFIXES:
                target = target.with_name(target.name + (PDF if chosen == paper else HTML))
            self.write(Wanted(target, student))

    def ask_numbers(self) -> None:
        """Let the user choose a folder for tables and figures, and write them."""
        if not self._ready():
            return
        path = QFileDialog.getExistingDirectory(
            self._window, self.tr("Folder for numbers and figures"), self._preferences.folder
        )
        if path:
            self.write_numbers(Path(path))

    def write(self, wanted: Wanted) -> None:
        """Write a report or a worksheet in the background."""
        complete, rows, made = self._completer(), self._rows(), self._made(wanted)
        sentence = self.tr("{file} is written.").format(file=wanted.target.name)

        def work(job: Job) -> Path:
            bundle = Bundle(complete(job.part(0.0, 0.3)), rows, made=made)
            job.step(0.3, "Writing the report")
            if wanted.target.suffix.lower() == HTML:
                data = make_html(bundle, wanted.student)
            else:
                from wayside_app.pdf.make import make_pdf

                data = make_pdf(make_report(bundle, wanted.student), job.part(0.35, 0.95))
            job.step(0.95, "Writing the report")
            write_out(wanted.target, data)
            return wanted.target

        self._start(wanted.target, work, sentence)

    def write_numbers(self, folder: Path) -> None:
        """Write tables and figures into a folder in the background."""
        complete, rows = self._completer(), self._rows()
        made = self._made(Wanted(folder))
        sentence = self.tr("Tables and figures are in {folder}.").format(folder=folder.name)

        def work(job: Job) -> Path:
            from wayside_app.pdf.png import figure_png

            there = next((name for name in FILES if (folder / name).exists()), None)
            if there is not None:
                raise InputError(f"“{folder.name}” already holds {there}; choose another folder.")
            bundle = Bundle(complete(job.part(0.0, 0.5)), rows, made=made)
            files = tables_of(bundle)
            for k, figure in enumerate(figures_of(bundle)):
                job.step(min(0.5 + 0.1 * k, 0.9), "Drawing the figures")
                files[f"{figure.name}.svg"] = figure.as_file()
                files[f"{figure.name}.png"] = figure_png(figure)
            job.step(0.95, "Writing the tables")
            write_folder(folder, files)
            return folder

        self._start(folder, work, sentence)

    # --- inside -----------------------------------------------------------------------------

    def _start(self, target: Path, work: Callable[[Job], Path], sentence: str) -> None:
        self._preferences.folder = str(target.parent)
        self._bar.begin(target.name)
        self._bench.runner.start(
            Task(
                REPORT,
                work,
                lambda path: self._bar.done(path, sentence),
                self._failed,
                self._bar.stopped,
            )
        )

    def _failed(self, error: WaysideError) -> None:
        self._bar.fail(str(error))

    def _go_on(self, kind: str, fraction: float, message: str) -> None:
        if kind == REPORT:
            self._bar.go_on(fraction)

    def _ready(self) -> bool:
        bench = self._bench
        if bench.heard is None and bench.prediction is None:
            self._bar.fail(
                self.tr(
                    "There is nothing to write about yet; open a recording or fill in the form."
                )
            )
            return False
        if bench.runner.busy(MEASURE) or bench.runner.busy(REPORT):
            self._bar.fail(self.tr("The program is still at work on it; wait a moment."))
            return False
        return True

    def _completer(self) -> Callable[[Job], Material]:
        """Return a call that adds what takes time to what the window shows now."""
        material = self._material()
        other_clock = self._bench.session.film_file is not None

        def complete(job: Job) -> Material:
            media = material.media
            frames = None if media is None else frames_of(Path(media.path), job.part(0.0, 0.3))
            found = worked_out(replace(material, frames=frames), job.part(0.3, 1.0))
            return replace(found, crossings=()) if other_clock else found

        return complete

    def _material(self) -> Material:
        bench = self._bench
        session = bench.session
        setup = bench.reading.setup
        heard = bench.heard
        title = (setup.title if setup is not None else "") or session.run.title(session.shown)
        return Material(
            title,
            None if heard is None else heard.media,
            None if heard is None else heard.recording,
            measure_options(session, bench.reading),
            setup,
            bench.prediction,
            bench.measurement,
            bench.comparison,
        )

    def _rows(self) -> tuple[RunRow, ...]:
        session = self._bench.session
        if len(session.runs) < 2:
            return ()
        return tuple(self._bench.runs.seen(session, k).row for k in range(len(session.runs)))

    def _made(self, wanted: Wanted) -> Made:
        """Return how to make it again; only a saved session can be named in a command."""
        path = self._keeper.path
        if path is None or self._keeper.unsaved:
            return Made("", versions())
        if wanted.target.suffix.lower() in SUFFIXES:
            words = ["wayside", "report", path.name, "-o", wanted.target.name]
            words += ["--student"] if wanted.student else []
        else:
            words = ["wayside", "data", path.name, "--out", wanted.target.name]
        return Made(shlex.join(words), versions())
