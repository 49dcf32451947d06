"""Long work off the window's thread: progress, cancel, and stale answers thrown away.

One long-lived runner owns the signals; a job only holds a call and a stop flag, so nothing is
emitted from an object that may be gone.
"""

from __future__ import annotations

import contextlib
import itertools
import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal, Slot

from wayside.errors import Cancelled, WaysideError
from wayside.jobs import Job

_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Task:
    """One kind of work and what to do with its outcome.

    Parameters
    ----------
    kind : str
        A newer task of the same kind replaces an older one.
    work : callable
        ``work(job) -> result``, run in another thread; must touch no widget.
    done : callable
        ``done(result)``, run in the window's thread.
    failed : callable
        ``failed(error)`` with a `WaysideError`.
    stopped : callable
        Called when the user stopped it.
    """

    kind: str
    work: Callable[[Job], Any]
    done: Callable[[Any], None]
    failed: Callable[[WaysideError], None]
    stopped: Callable[[], None] = lambda: None


class _Running(QRunnable):
    def __init__(self, number: int, task: Task, runner: JobRunner) -> None:
        super().__init__()
        self._number = number
        self._task = task
        self._runner = runner
        self._stop = threading.Event()

    def stop(self) -> None:
        self._stop.set()

    @property
    def stopping(self) -> bool:
        return self._stop.is_set()

    def run(self) -> None:
        number, runner = self._number, self._runner

        def report(fraction: float, message: str) -> None:
            # the window may be gone by now
            with contextlib.suppress(RuntimeError):
                runner.reported.emit(number, fraction, message)

        job = Job(report=report, cancelled=self._stop.is_set)
        try:
            outcome: object = self._task.work(job)
        except WaysideError as error:
            outcome = error
        except MemoryError:
            outcome = WaysideError("There is not enough memory for this; close other programs.")
        except Exception as error:
            _log.exception("a job of kind %r failed", self._task.kind)
            outcome = WaysideError(
                f"Something went wrong inside the program ({type(error).__name__}: {error}); "
                "nothing was changed."
            )
        with contextlib.suppress(RuntimeError):
            runner.ended.emit(number, outcome)


class JobRunner(QObject):
    """Runs tasks in a thread pool.

    Signals
    -------
    progress(kind, fraction, message)
        Only of tasks that are still wanted.
    busy_changed(kind, busy)
    """

    progress = Signal(str, float, str)
    busy_changed = Signal(str, bool)
    reported = Signal(int, float, str)
    ended = Signal(int, object)

    def __init__(self, parent: QObject | None = None, threads: int = 2) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(max(2, threads))
        self._numbers = itertools.count(1)
        self._current: dict[str, int] = {}
        self._running: dict[int, tuple[Task, _Running]] = {}
        self.reported.connect(self._pass_on, Qt.ConnectionType.QueuedConnection)
        self.ended.connect(self._finish, Qt.ConnectionType.QueuedConnection)

    def start(self, task: Task) -> int:
        """Start a task, dropping any older one of its kind; returns its number."""
        self.drop(task.kind)
        number = next(self._numbers)
        running = _Running(number, task, self)
        running.setAutoDelete(False)
        self._running[number] = (task, running)
        self._current[task.kind] = number
        self.busy_changed.emit(task.kind, True)
        self._pool.start(running)
        return number

    def stop(self, kind: str) -> None:
        """Ask the current task of a kind to stop; its ``stopped`` is called once it has."""
        number = self._current.get(kind)
        if number is not None:
            self._running[number][1].stop()

    def drop(self, kind: str) -> None:
        """Stop the current task of a kind and forget it: its outcome will be ignored."""
        number = self._current.pop(kind, None)
        if number is not None:
            self._running[number][1].stop()
            self.busy_changed.emit(kind, False)

    def busy(self, kind: str) -> bool:
        """Tell whether a wanted task of this kind is running."""
        return kind in self._current

    def close(self, patience_ms: int = 10_000) -> bool:
        """Stop everything and wait; True when all threads ended in time."""
        for kind in list(self._current):
            self.drop(kind)
        return self._pool.waitForDone(patience_ms)

    @Slot(int, float, str)
    def _pass_on(self, number: int, fraction: float, message: str) -> None:
        entry = self._running.get(number)
        if entry is not None and self._current.get(entry[0].kind) == number:
            self.progress.emit(entry[0].kind, fraction, message)

    @Slot(int, object)
    def _finish(self, number: int, outcome: object) -> None:
        entry = self._running.pop(number, None)
        if entry is None or self._current.get(entry[0].kind) != number:
            return
        task, running = entry
        del self._current[task.kind]
        self.busy_changed.emit(task.kind, False)
        if isinstance(outcome, Cancelled) or running.stopping:
            task.stopped()
        elif isinstance(outcome, WaysideError):
            task.failed(outcome)
        else:
            task.done(outcome)
