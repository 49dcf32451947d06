"""Sampling in the background: started once typing has paused, never while the sheet is hidden."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

from wayside.errors import WaysideError
from wayside.hand.monte_carlo import MonteCarlo, monte_carlo
from wayside.hand.predict import Prediction
from wayside_app.window.jobs import JobRunner, Task

SAMPLE = "sample"
_PAUSE_MS = 250


class Sampling(QObject):
    """Keeps the sampled results of the newest prediction asked for.

    Signals
    -------
    changed()
        `found`, `fault`, `drawing`, `stopped` or `share`, the part drawn, changed.
    """

    changed = Signal()

    def __init__(self, runner: JobRunner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._runner = runner
        self._wanted: Prediction | None = None
        self._done: Prediction | None = None
        self.found: MonteCarlo | None = None
        self.fault = ""
        self.drawing = False
        self.stopped = False
        self.share = 0.0
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE_MS)
        self._pause.timeout.connect(self._start)
        runner.progress.connect(self._progress)

    def ask(self, prediction: Prediction | None) -> None:
        """Have a prediction sampled, unless it is already."""
        if prediction is None:
            self._pause.stop()
            self._runner.drop(SAMPLE)
            self._wanted = self._done = self.found = None
            self.drawing, self.fault = False, ""
            self.changed.emit()
        elif prediction is not self._wanted:
            self._wanted = prediction
            self.drawing, self.stopped, self.share = True, False, 0.0
            self._pause.start()
            self.changed.emit()

    @property
    def current(self) -> bool:
        """True when `found` belongs to the newest prediction."""
        return self.found is not None and self._done is self._wanted

    def stop(self) -> None:
        """Stop drawing, as the user asked."""
        self._pause.stop()
        self._runner.drop(SAMPLE)
        self.drawing, self.stopped = False, True
        self.changed.emit()

    def again(self) -> None:
        """Draw after all."""
        wanted, self._wanted = self._wanted, None
        self.ask(wanted)

    def _progress(self, kind: str, fraction: float, message: str) -> None:
        if kind == SAMPLE and self.drawing:
            self.share = fraction
            self.changed.emit()

    def _start(self) -> None:
        wanted = self._wanted
        if wanted is None:
            return

        def done(found: MonteCarlo) -> None:
            self.found, self._done, self.fault, self.drawing = found, wanted, "", False
            self.changed.emit()

        def failed(error: WaysideError) -> None:
            self.found, self.fault, self.drawing = None, str(error), False
            self.changed.emit()

        work = Task(SAMPLE, lambda job: monte_carlo(wanted, job=job), done, failed)
        self._runner.start(work)
