"""Measures the runs that are not shown, one after the other, behind the window's back.

A file that cannot be read gets its sentence in its own row and never stops the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from wayside.errors import MediaError, WaysideError
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.session.media import fingerprint, locate
from wayside.session.run import MediaRef, Run
from wayside.session.session import Session
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.runs.store import RunStore
from wayside_app.window.services import Services

REST = "rest"


@dataclass(frozen=True)
class _Done:
    media: MediaRef
    measurement: Measurement


class Rest(QObject):
    """The queue.

    Signals
    -------
    changed()
        A run was measured or failed, or the queue began or ended.
    """

    changed = Signal()

    def __init__(
        self,
        services: Services,
        store: RunStore,
        runner: JobRunner,
        session: Callable[[], Session],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._services, self._store, self._runner = services, store, runner
        self._session = session
        self._stopped = False
        self._run: Run | None = None
        self.folder = Path.cwd()

    @property
    def busy(self) -> bool:
        """True while a run is being measured."""
        return self._runner.busy(REST)

    @property
    def stopped(self) -> bool:
        """True once the user asked to stop; nothing is begun until they ask for it."""
        return self._stopped

    @property
    def measuring(self) -> int | None:
        """Key of the run under way."""
        return self._run.key if self._run is not None and self.busy else None

    def waiting(self) -> list[Run]:
        """Return the runs still to be measured; the one shown is the window's own affair."""
        session = self._session()
        return [
            run
            for at, run in enumerate(session.runs)
            if at != session.shown and self._store.wanting(run)
        ]

    def look(self) -> None:
        """Begin with the next run unless one is under way or the user asked to stop."""
        if self.busy or self._stopped:
            return
        waiting = self.waiting()
        if not waiting:
            self._run = None
            self.changed.emit()
            return
        self._begin(waiting[0])

    def stop(self) -> None:
        """Stop as the user asked."""
        if self.busy or self.waiting():
            self._stopped = True
            self._runner.drop(REST)
            self.changed.emit()

    def go_on(self) -> None:
        """Begin again, with those that failed too."""
        self._stopped = False
        self._store.forget_faults()
        self.look()

    def start_over(self, folder: Path) -> None:
        """Forget the runs of the session before."""
        self._runner.drop(REST)
        self._stopped, self._run, self.folder = False, None, folder

    def _begin(self, run: Run) -> None:
        self._run = run
        options = self._store.by_hand(run).options
        self._runner.start(
            Task(
                REST,
                partial(self._measure, run, options, self.folder),
                partial(self._take, options),
                partial(self._fail, run, options),
            )
        )
        self.changed.emit()

    def _measure(self, run: Run, options: MeasureOptions, folder: Path, job: Job) -> _Done:
        assert run.media is not None
        name = Path(run.media.path).name
        found = locate(run.media, folder)
        if found is None:
            raise MediaError(
                f"The recording {name} is no longer where it was; show this run and find it."
            )
        media = fingerprint(found.path, job.part(0.0, 0.1))
        if run.media.sha256 and media.sha256 != run.media.sha256:
            raise MediaError(
                f"{name} is not the recording this session was made with: its content differs; "
                "show this run and find the right one."
            )
        recording = self._services.load(found.path, job.part(0.1, 0.5))
        return _Done(media, self._services.measure(recording, options, job.part(0.5, 1.0)))

    def _take(self, options: MeasureOptions, done: _Done) -> None:
        self._store.learn(done.media)
        self._store.keep(done.media, options, done.measurement)
        self.changed.emit()
        self.look()

    def _fail(self, run: Run, options: MeasureOptions, error: WaysideError) -> None:
        self._store.note_fault(run, options, str(error))
        self.changed.emit()
        self.look()
