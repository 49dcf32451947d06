"""The open film behind the window: opened in the background, its frames brought when ready."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot

from wayside.errors import Cancelled, WaysideError
from wayside.film.film import Film, open_film
from wayside.film.info import Picture
from wayside.jobs import Job
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.words import said

OPEN, FRAME = "film", "film frame"

_PATIENCE_MS = 700
_FRAME_TIMEOUT_S = 20.0

Opener = Callable[..., Film]


class _Opening:
    """One attempt to open a film; a film that nobody waits for any more is closed again."""

    def __init__(self, path: Path, opener: Opener) -> None:
        self._path, self._opener = path, opener
        self._lock = threading.Lock()
        self._film: Film | None = None
        self._abandoned = False

    def work(self, job: Job) -> Film:
        film = self._opener(self._path, job=job)
        with self._lock:
            if not self._abandoned:
                self._film = film
                return film
        film.close()
        raise Cancelled("The film is no longer wanted.")

    def claim(self) -> None:
        """Take the film over: whoever does closes it."""
        with self._lock:
            self._film = None

    def abandon(self) -> None:
        """Want the film no longer."""
        with self._lock:
            self._abandoned = True
            film, self._film = self._film, None
        if film is not None:
            film.close()


class _Held:
    """What must be let go of even when the window goes without a word."""

    def __init__(self) -> None:
        self.opening: _Opening | None = None
        self.film: Film | None = None

    def close(self) -> bool:
        """Close film and attempt; True if a film was open."""
        opening, film = self.opening, self.film
        self.opening = self.film = None
        if opening is not None:
            opening.abandon()
        if film is not None:
            film.when_ready(None)
            film.close()
        return film is not None


class FilmSource(QObject):
    """Holds at most one open film and the frame that is looked at.

    Signals
    -------
    opened()
        A film is open, or none is any more.
    failed(sentence)
        It could not be opened.
    shown(Picture)
        The frame wanted, or while it is being decoded one that came on the way.
    frame_failed(sentence)
        The frame wanted cannot be had.
    """

    opened = Signal()
    failed = Signal(str)
    shown = Signal(object)
    frame_failed = Signal(str)
    _came = Signal(int, int)

    def __init__(
        self, runner: JobRunner, parent: QObject | None = None, opener: Opener = open_film
    ) -> None:
        super().__init__(parent)
        self._runner = runner
        self._opener = opener
        held = self._held = _Held()
        self.destroyed.connect(lambda: held.close())
        self._turn = 0
        self.path: Path | None = None
        self.index = 0
        self.waiting = False
        self._seen = 0
        self._patience = QTimer(self)
        self._patience.setSingleShot(True)
        self._patience.setInterval(_PATIENCE_MS)
        self._patience.timeout.connect(self._insist)
        self._came.connect(self._take, Qt.ConnectionType.QueuedConnection)

    @property
    def film(self) -> Film | None:
        """The open film."""
        return self._held.film

    @property
    def opening(self) -> bool:
        """Tell whether a film is being opened."""
        return self._held.opening is not None

    def open(self, path: Path) -> None:
        """Open a film; the one before it is closed first."""
        self.close()
        self.path = path
        opening = _Opening(path, self._opener)
        self._held.opening = opening
        self._runner.start(
            Task(OPEN, opening.work, self._have, self._fail, lambda: self._fail(None))
        )

    def close(self) -> None:
        """Let go of the film and of one that is being opened."""
        self._turn += 1
        self._patience.stop()
        for kind in (OPEN, FRAME):
            self._runner.drop(kind)
        self.path = None
        self.index, self._seen, self.waiting = 0, 0, False
        if self._held.close():
            self.opened.emit()

    def want(self, index: int) -> None:
        """Show a frame as soon as it is there; returns at once."""
        if self.film is None:
            return
        self.index = index
        self.film.prepare(index)
        picture = self.film.peek(index)
        self.waiting = picture is None
        if picture is None:
            self._patience.start()
            return
        self._patience.stop()
        self._show(picture)

    def _show(self, picture: Picture) -> None:
        self._seen = picture.index
        self.shown.emit(picture)

    def _have(self, film: Film) -> None:
        opening, self._held.opening = self._held.opening, None
        if opening is None:
            film.close()
            return
        opening.claim()
        self._held.film = film
        turn, came = self._turn, self._came

        def tell(index: int) -> None:
            # the window may be gone by now
            with contextlib.suppress(RuntimeError):
                came.emit(turn, index)

        film.when_ready(tell)
        self.opened.emit()

    def _fail(self, error: WaysideError | None) -> None:
        self._held.opening = None
        self.path = None
        self.failed.emit("" if error is None else said(str(error)))

    @Slot(int, int)
    def _take(self, turn: int, index: int) -> None:
        if turn != self._turn or self.film is None or not self.waiting:
            return
        picture = self.film.peek(self.index)
        if picture is not None:
            self.waiting = False
            self._patience.stop()
        elif abs(index - self.index) < abs(self._seen - self.index):
            picture = self.film.peek(index)
        if picture is not None:
            self._show(picture)

    def _insist(self) -> None:
        """Ask for a frame that does not come, in order to learn why."""
        film, index = self.film, self.index
        if film is None:
            return

        def work(job: Job) -> Picture:
            return film.picture(index, _FRAME_TIMEOUT_S)

        self._runner.start(Task(FRAME, work, self._take_late, self._fail_frame))

    def _take_late(self, picture: Picture) -> None:
        if picture.index == self.index and self.waiting:
            self.waiting = False
            self._show(picture)

    def _fail_frame(self, error: WaysideError) -> None:
        if self.waiting:
            self.waiting = False
            self.frame_failed.emit(said(str(error)))
