"""Measures the runs that are not shown, several at once, behind the window's back.

A file that cannot be read gets its sentence in its own row and never stops the others.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from wayside.batch.apart import workers_for
from wayside.errors import WaysideError
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.session.media import found_again
from wayside.session.run import MediaRef, Run
from wayside.session.session import Session
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.runs.store import RunStore
from wayside_app.window.services import Services

PLACES = workers_for(os.cpu_count())
REST = tuple(f"rest {place}" for place in range(PLACES))


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
        self._under_way: dict[str, Run] = {}
        self._finished = 0
        self.folder = Path.cwd()

    @property
    def busy(self) -> bool:
        """True while a run is being measured."""
        return any(self._runner.busy(place) for place in REST)

    @property
    def stopped(self) -> bool:
        """True once the user asked to stop; nothing is begun until they ask for it."""
        return self._stopped

    @property
    def measuring(self) -> frozenset[int]:
        """Keys of the runs under way."""
        return frozenset(r.key for place, r in self._under_way.items() if self._runner.busy(place))

    @property
    def share(self) -> float:
        """How much of the queue is done, from 0 to 1."""
        left = len(self.waiting())
        return self._finished / max(1, self._finished + left)

    def waiting(self) -> list[Run]:
        """Return the runs still to be measured; the one shown is the window's own affair."""
        session = self._session()
        return [
            run
            for at, run in enumerate(session.runs)
            if at != session.shown and self._store.wanting(run)
        ]

    def look(self) -> None:
        """Begin with the next runs as far as there is room, unless the user asked to stop."""
        if self._stopped:
            return
        at_work = self.measuring
        todo = [run for run in self.waiting() if run.key not in at_work]
        free = [place for place in REST if not self._runner.busy(place)]
        for place, run in zip(free, todo, strict=False):
            self._begin(place, run)
        if not self.busy:
            self._under_way, self._finished = {}, 0
            self.changed.emit()

    def stop(self) -> None:
        """Stop as the user asked."""
        if self.busy or self.waiting():
            self._stopped = True
            self._drop()
            self.changed.emit()

    def go_on(self) -> None:
        """Begin again, with those that failed too."""
        self._stopped = False
        self._store.forget_faults()
        self.look()

    def start_over(self, folder: Path) -> None:
        """Forget the runs of the session before."""
        self._drop()
        self._stopped, self.folder = False, folder

    def _drop(self) -> None:
        for place in REST:
            self._runner.drop(place)
        self._under_way, self._finished = {}, 0

    def _begin(self, place: str, run: Run) -> None:
        self._under_way[place] = run
        options = self._store.by_hand(run).options
        self._runner.start(
            Task(
                place,
                partial(self._measure, run, options, self.folder),
                partial(self._take, options),
                partial(self._fail, run, options),
            )
        )
        self.changed.emit()

    def _measure(self, run: Run, options: MeasureOptions, folder: Path, job: Job) -> _Done:
        assert run.media is not None
        advice = "show this run and find it"
        path, media = found_again(run.media, folder, advice, job.part(0.0, 0.1))
        return _Done(media, self._services.measure_file(path, options, job.part(0.1, 1.0)))

    def _take(self, options: MeasureOptions, done: _Done) -> None:
        self._store.learn(done.media)
        self._store.keep(done.media, options, done.measurement)
        self._finished += 1
        self.changed.emit()
        self.look()

    def _fail(self, run: Run, options: MeasureOptions, error: WaysideError) -> None:
        self._store.note_fault(run, options, str(error))
        self._finished += 1
        self.changed.emit()
        self.look()
