"""Knowing a recording again: its fingerprint, and where it lies now."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from wayside.errors import MediaError
from wayside.jobs import QUIET, Job
from wayside.session.session import MediaRef

_CHUNK = 1 << 20


@dataclass(frozen=True)
class Located:
    """Where a session's recording was found.

    Parameters
    ----------
    path : Path
    changed : bool
        True when its size is not the one the session remembers.
    """

    path: Path
    changed: bool


def fingerprint(path: Path, job: Job = QUIET) -> MediaRef:
    """Return path, size and SHA-256 of a file.

    Raises
    ------
    MediaError
        If it cannot be read.
    Cancelled
        If the job was stopped.
    """
    digest = hashlib.sha256()
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            done = 0
            while chunk := file.read(_CHUNK):
                job.step(done / max(size, 1), "Reading the file")
                digest.update(chunk)
                done += len(chunk)
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise MediaError(f"{path.name} cannot be read ({reason}); choose another file.") from None
    return MediaRef(str(path.resolve()), size, digest.hexdigest())


def locate(ref: MediaRef, folder: Path) -> Located | None:
    """Find a session's recording: where it was, or by its name in the session's folder."""
    old = Path(ref.path)
    candidates = (old, folder / old.name)
    found = [path for path in candidates if _is_file(path)]
    for path in found:
        if ref.size < 0 or path.stat().st_size == ref.size:
            return Located(path, changed=False)
    return Located(found[0], changed=True) if found else None


def same_content(ref: MediaRef, path: Path, job: Job = QUIET) -> bool:
    """Tell whether a file holds the very bytes the session remembers."""
    return fingerprint(path, job).sha256 == ref.sha256


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
