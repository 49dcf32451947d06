"""Who has a session open: a small file beside it, naming computer, process and time.

The lock file of a program that ended in any way, a crash included, is taken over.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QLockFile

HELD, TAKEN, NOT_WRITABLE = "held", "taken", "not writable"

_Error = QLockFile.LockError


@dataclass(frozen=True)
class Holder:
    """Who has a session open.

    Parameters
    ----------
    host : str
        Name of the computer; empty if the lock file does not say.
    process : int
    since : datetime or None
        Local time.
    """

    host: str
    process: int
    since: datetime | None


class SessionLock:
    """One window's hold on one session file.

    Attributes
    ----------
    state : str
        `HELD` by this window; `TAKEN` by another, which `holder` names; or `NOT_WRITABLE`: the
        folder takes no lock file, so the session can only be read there.
    holder : Holder or None
    """

    def __init__(self, path: Path) -> None:
        self._file = path.with_name(f".{path.name}.lock")
        self._lock = QLockFile(str(self._file))
        # age says nothing: a lesson may be open for days; whether the process lives says all
        self._lock.setStaleLockTime(0)
        self.holder: Holder | None = None
        self.state = NOT_WRITABLE
        if self._lock.tryLock(0):
            self.state = HELD
        elif self._lock.error() is _Error.LockFailedError:
            self.state, self.holder = TAKEN, self._read()

    def release(self) -> None:
        """Let go."""
        self._lock.unlock()

    def _read(self) -> Holder:
        info = self._lock.getLockInfo()
        process, host = (int(info[0]), str(info[1])) if isinstance(info, tuple) else (0, "")
        try:
            since = datetime.fromtimestamp(self._file.stat().st_mtime)
        except OSError:
            since = None
        return Holder(host, process, since)
