"""Pools the runs when any of them changed: at once if they are few, else behind the window."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from wayside.errors import WaysideError
from wayside.jobs import Job
from wayside.review.row import RunRow
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.runs.together_tables import NOTHING, AllTogether, put_together

POOL = "pool"

_FEW = 6
"""So many are pooled between two keystrokes."""

Rows = tuple[RunRow, ...]
Both = tuple[AllTogether, AllTogether]


class Pooler(QObject):
    """Holds what all runs say together, and what those in sight say.

    Signals
    -------
    pooled()
        Either is another now.
    """

    pooled = Signal()

    def __init__(self, runner: JobRunner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._runner = runner
        self._asked: tuple[Rows, Rows] = ((), ())
        self.everyone: AllTogether = NOTHING
        self.in_sight: AllTogether = NOTHING

    def ask(self, everyone: Rows, in_sight: Rows) -> None:
        """Have these rows pooled unless they are those of the last time."""
        if (everyone, in_sight) == self._asked:
            return
        self._asked = (everyone, in_sight)
        if len(everyone) <= _FEW:
            self._runner.drop(POOL)
            self._take(_pool(everyone, in_sight))
            return
        self._runner.start(
            Task(POOL, lambda job: _pool(everyone, in_sight, job), self._take, self._fail)
        )

    def _take(self, both: Both) -> None:
        self.everyone, self.in_sight = both
        self.pooled.emit()

    def _fail(self, error: WaysideError) -> None:
        failed = AllTogether((), (), {}, "", str(error))
        self._take((failed, failed))


def _pool(everyone: Rows, in_sight: Rows, job: Job | None = None) -> Both:
    if job is not None:
        job.check()
    together = put_together(everyone)
    return together, together if in_sight == everyone else put_together(in_sight)
