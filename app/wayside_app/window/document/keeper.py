"""Opening and saving the session, and keeping it safe in between."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QDateTime, QLocale, QObject, QTimer, Signal

from wayside.session.document import SUFFIX, SessionError, read_document, write_session
from wayside.session.session import Session
from wayside_app.window.bench import Bench
from wayside_app.window.document.autosave import Autosave, Orphan, recover, remove
from wayside_app.window.document.lock import NOT_WRITABLE, TAKEN, Holder, SessionLock
from wayside_app.window.words import said

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
    taken(path, sentence)
        Another window has the session open; the sentence says who.
    """

    changed = Signal()
    opened = Signal(object)
    fault = Signal(str)
    taken = Signal(object, str)

    def __init__(self, bench: Bench, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.path: Path | None = None
        self._lock: SessionLock | None = None
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
        try:
            document = read_document(path)
        except SessionError as error:
            self.fault.emit(said(str(error)))
            return False
        lock = None if path == self.path else SessionLock(path)
        if lock is not None and lock.state == TAKEN:
            self.taken.emit(path, self._who(path, lock.holder))
            return False
        if lock is not None:
            self._release()
            self._lock = lock
        self.path = path
        self._bench.start_over(document.session, path.parent, document.results)
        self._settled()
        if lock is not None and lock.state == NOT_WRITABLE:
            self.fault.emit(
                self.tr(
                    "The folder of {file} cannot be written to, so it is open for reading only; "
                    "save it in another place to keep changes."
                ).format(file=path.name)
            )
        self.opened.emit(path)
        return True

    def open_copy(self, path: Path) -> bool:
        """Open what a session file holds now as a session without a file of its own."""
        try:
            document = read_document(path)
        except SessionError as error:
            self.fault.emit(said(str(error)))
            return False
        self._release()
        self.path = None
        self._bench.start_over(document.session, path.parent, document.results)
        self._settled()
        self._bench.undo_stack.resetClean()
        self.changed.emit()
        return True

    def save(self, path: Path | None = None) -> bool:
        """Save, under another name if one is given; False when it could not be done."""
        target = path or self.path
        if target is None:
            return False
        target = with_suffix(target).resolve()
        lock = None if target == self.path else SessionLock(target)
        if lock is not None and lock.state == TAKEN:
            self.fault.emit(
                self.tr("{file} is open in another window; choose another name.").format(
                    file=target.name
                )
            )
            return False
        try:
            self._write(target)
        except SessionError as error:
            if lock is not None:
                lock.release()
            self.fault.emit(said(str(error)))
            return False
        if lock is not None:
            self._release()
            self._lock = lock
        self.path = target
        self._bench.set_folder(target.parent)
        self._bench.undo_stack.setClean()
        self._settled()
        self.opened.emit(target)
        return True

    def _write(self, target: Path) -> None:
        runs = self._bench.runs
        write_session(runs.with_contents(self._bench.session), target, runs.measured)

    def _who(self, path: Path, holder: Holder | None) -> str:
        """Say who has a session open."""
        if holder is None or holder.since is None or not holder.host:
            words = self.tr("{file} is open in another window.").format(file=path.name)
        else:
            when = QLocale().toString(
                QDateTime.fromSecsSinceEpoch(round(holder.since.timestamp())),
                QLocale.FormatType.ShortFormat,
            )
            words = self.tr(
                "{file} is open in another window: on the computer {host}, program number "
                "{number}, since {when}."
            ).format(file=path.name, host=holder.host, number=holder.process, when=when)
        return words + " " + self.tr("Close it there first, or open a copy.")

    def keep_now(self) -> None:
        """Write the private copy if there is unsaved work that it does not hold yet."""
        session = self._bench.session
        if not self.unsaved or session is self._kept:
            return
        runs = self._bench.runs
        if self._autosave.keep(runs.with_contents(session), self.path, runs.measured):
            self._kept = session

    def orphans(self) -> list[Orphan]:
        """Return unsaved work that crashed windows left."""
        return self._autosave.orphans()

    def recover(self, orphan: Orphan) -> bool:
        """Take over a crashed window's work; it counts as unsaved."""
        try:
            document = recover(orphan)
        except SessionError as error:
            self.fault.emit(said(str(error)))
            return False
        self._release()
        self.path = orphan.document
        folder = orphan.copy.parent if orphan.document is None else orphan.document.parent
        self._bench.start_over(document.session, folder, document.results)
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
            self._lock.release()
            self._lock = None


def with_suffix(path: Path) -> Path:
    """Return the path with the ending of session files."""
    if path.name.endswith(SUFFIX):
        return path
    return path.with_name(path.name.removesuffix(".json") + SUFFIX)
