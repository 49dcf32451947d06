"""A private copy of unsaved work, found again after a crash.

Every window keeps one copy beside a lock. The system frees the lock when the program ends in
any way, so a copy whose lock can be taken belongs to nobody: its program crashed.
"""

from __future__ import annotations

import contextlib
import json
import uuid
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QLockFile

from wayside.files import write_atomically
from wayside.session.document import (
    SUFFIX,
    Document,
    Measured,
    SessionError,
    read_document,
    write_session,
)
from wayside.session.session import Session


@dataclass(frozen=True)
class Orphan:
    """Unsaved work of a window that crashed.

    Parameters
    ----------
    copy : Path
        The private copy.
    document : Path or None
        The session file it belongs to, if it had one.
    when : datetime
        When the copy was written, local time.
    """

    copy: Path
    document: Path | None
    when: datetime

    @property
    def name(self) -> str:
        """Name to call it by; empty when it never had one."""
        return "" if self.document is None else self.document.name


class Autosave:
    """One window's private copy.

    Parameters
    ----------
    folder : Path
        Where copies are kept; made when needed.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._copy = folder / f"{uuid.uuid4().hex}{SUFFIX}"
        self._lock: QLockFile | None = None

    def keep(self, session: Session, document: Path | None, measured: Measured) -> bool:
        """Write the copy; False when the folder cannot be written to."""
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            if self._lock is None:
                self._lock = _lock_of(self._copy)
                self._lock.tryLock(0)
            write_session(session, self._copy, measured)
            about = {"document": None if document is None else str(document)}
            write_atomically(_about(self._copy), json.dumps(about).encode("utf-8"))
        except (OSError, SessionError):
            return False
        return True

    def forget(self) -> None:
        """Remove the copy: the work is saved, or was thrown away on purpose."""
        remove(self._copy)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None

    def orphans(self) -> list[Orphan]:
        """Return the copies nobody holds, newest first."""
        found = []
        for copy in self._folder.glob(f"*{SUFFIX}"):
            lock = _lock_of(copy)
            if copy == self._copy or not lock.tryLock(0):
                continue
            lock.unlock()
            with contextlib.suppress(OSError):
                when = datetime.fromtimestamp(copy.stat().st_mtime)
                found.append(Orphan(copy, _document_of(copy), when))
        return sorted(found, key=lambda orphan: orphan.when, reverse=True)


def recover(orphan: Orphan) -> Document:
    """Return what is in a copy.

    Raises
    ------
    SessionError
        If it cannot be read.
    """
    return read_document(orphan.copy)


def remove(copy: Path) -> None:
    """Remove a copy and what belongs to it."""
    for path in (copy, _about(copy)):
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)


def _lock_of(copy: Path) -> QLockFile:
    lock = QLockFile(str(copy.with_name(copy.name + ".lock")))
    lock.setStaleLockTime(0)
    return lock


def _about(copy: Path) -> Path:
    return copy.with_name(copy.name + ".about")


def _document_of(copy: Path) -> Path | None:
    try:
        about = json.loads(_about(copy).read_text(encoding="utf-8"))
        document = about["document"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return Path(document) if isinstance(document, str) else None
