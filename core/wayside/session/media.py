"""Knowing a recording again: its fingerprint, and where it lies now."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path, PurePath

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


def found_again(
    ref: MediaRef, folder: Path, advice: str, job: Job = QUIET
) -> tuple[Path, MediaRef]:
    """Return where a session's recording lies now, and its fingerprint.

    Parameters
    ----------
    ref : MediaRef
    folder : Path
        Of the session file.
    advice : str
        What to do about it if it is gone or another one, as the end of a sentence.
    job : Job

    Raises
    ------
    MediaError
        If it is not there, or its content is not what the session remembers.
    Cancelled
        If the job was stopped.
    """
    name = PurePath(ref.path).name
    found = locate(ref, folder)
    if found is None:
        raise MediaError(f"The recording {name} is no longer where it was; {advice}.")
    media = fingerprint(found.path, job)
    if ref.sha256 and media.sha256 != ref.sha256:
        raise MediaError(
            f"{name} is not the recording this session was made with: its content differs; "
            f"{advice}."
        )
    return found.path, media


def same_content(ref: MediaRef, path: Path, job: Job = QUIET) -> bool:
    """Tell whether a file holds the very bytes the session remembers."""
    return fingerprint(path, job).sha256 == ref.sha256


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
