"""Opening and saving the session, and keeping it safe in between."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from wayside.session.document import SUFFIX, SessionError, read_session, write_session
from wayside.session.session import Session
from wayside_app.window.bench import Bench
from wayside_app.window.document.autosave import Autosave, Orphan, recover, remove

AUTOSAVE_S = 30


class Keeper(QObject):
    """Holds the document of one window.

    Signals
    -------
    changed()
        Another file, or its unsaved mark changed.
    opened(path)
        A session file was opened or saved, for the list of recent ones.
    fault(sentence)
        Something could not be opened or saved; empty clears it.
    """

    changed = Signal()
    opened = Signal(object)
    fault = Signal(str)

    def __init__(self, bench: Bench, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.path: Path | None = None
        self._lock: QLockFile | None = None
        self._autosave = Autosave(folder)
        self._kept: Session | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(AUTOSAVE_S * 1000)
        self._timer.timeout.connect(self.keep_now)
        self._timer.start()
        bench.undo_stack.cleanChanged.connect(lambda _: self.changed.emit())

    @property
    def unsaved(self) -> bool:
        """True when there is work that no file holds."""
        return not self._bench.undo_stack.isClean()

    def new(self) -> None:
        """Start an empty session."""
        self._release()
        self.path = None
        self._bench.start_over(Session())
        self._settled()

    def open(self, path: Path) -> bool:
        """Open a session file; on any fault everything stays as it was."""
        path = path.resolve()
        lock = None if path == self.path else _document_lock(path)
        try:
            session = read_session(path)
        except SessionError as error:
            self.fault.emit(str(error))
            return False
        if lock is not None and not lock.tryLock(0) and lock.error() is _HELD:
            self.fault.emit(
                self.tr("{file} is open in another window; close it there first.").format(
                    file=path.name
                )
            )
            return False
        if lock is not None:
            self._release()
            self._lock = lock
        self.path = path
        self._bench.start_over(session, path.parent)
        self._settled()
        self.opened.emit(path)
        return True

    def save(self, path: Path | None = None) -> bool:
        """Save, under another name if one is given; False when it could not be done."""
        target = path or self.path
        if target is None:
            return False
        target = with_suffix(target).resolve()
        if target != self.path:
            lock = _document_lock(target)
            if not lock.tryLock(0) and lock.error() is _HELD:
                self.fault.emit(
                    self.tr("{file} is open in another window; choose another name.").format(
                        file=target.name
                    )
                )
                return False
        else:
            lock = None
        try:
            write_session(self._bench.session, target)
        except SessionError as error:
            if lock is not None:
                lock.unlock()
            self.fault.emit(str(error))
            return False
        if lock is not None:
            self._release()
            self._lock = lock
        self.path = target
        self._bench.undo_stack.setClean()
        self._settled()
        self.opened.emit(target)
        return True

    def keep_now(self) -> None:
        """Write the private copy if there is unsaved work that it does not hold yet."""
        session = self._bench.session
        if self.unsaved and session is not self._kept and self._autosave.keep(session, self.path):
            self._kept = session

    def orphans(self) -> list[Orphan]:
        """Return unsaved work that crashed windows left."""
        return self._autosave.orphans()

    def recover(self, orphan: Orphan) -> bool:
        """Take over a crashed window's work; it counts as unsaved."""
        try:
            session = recover(orphan)
        except SessionError as error:
            self.fault.emit(str(error))
            return False
        self._release()
        self.path = orphan.document
        folder = orphan.copy.parent if orphan.document is None else orphan.document.parent
        self._bench.start_over(session, folder)
        self._bench.undo_stack.resetClean()
        self.keep_now()
        remove(orphan.copy)
        self.fault.emit("")
        self.changed.emit()
        return True

    def discard(self, orphan: Orphan) -> None:
        """Throw a crashed window's work away."""
        remove(orphan.copy)

    def close(self) -> None:
        """Let go of the document; what was unsaved was dealt with by whoever closes."""
        self._timer.stop()
        self._autosave.forget()
        self._release()

    def _settled(self) -> None:
        self._autosave.forget()
        self._kept = None
        self.fault.emit("")
        self.changed.emit()

    def _release(self) -> None:
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None


_HELD = QLockFile.LockError.LockFailedError


def with_suffix(path: Path) -> Path:
    """Return the path with the ending of session files."""
    if path.name.endswith(SUFFIX):
        return path
    return path.with_name(path.name.removesuffix(".json") + SUFFIX)


def _document_lock(path: Path) -> QLockFile:
    lock = QLockFile(str(path.with_name(f".{path.name}.lock")))
    lock.setStaleLockTime(0)
    return lock
