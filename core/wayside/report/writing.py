"""Writing what was made: checked before the work, whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from wayside.errors import InputError
from wayside.files import write_atomically

HTML, PDF = ".html", ".pdf"
SUFFIXES = (HTML, PDF)


def check_target(path: Path, force: bool, sources: Sequence[Path] = ()) -> None:
    """Raise `InputError` unless a report may be written to `path`.

    Parameters
    ----------
    path : Path
    force : bool
        Whether a file of that name may be replaced.
    sources : sequence of Path
        What the report is made from, which is never replaced.
    """
    if path.suffix.lower() not in SUFFIXES:
        raise InputError(f"“{path.name}” does not end in .html or .pdf; name such a file.")
    if not path.parent.is_dir():
        raise InputError(f"There is no folder “{path.parent}”; make it first or name another.")
    if path.is_dir():
        raise InputError(f"“{path}” is a folder; name a file.")
    if any(path.exists() and s.exists() and path.samefile(s) for s in sources):
        raise InputError(f"“{path.name}” is what the report is made from; name another file.")
    if path.exists() and not force:
        raise InputError(f"“{path}” exists; name another file, or add --force to replace it.")


def write_out(path: Path, data: bytes) -> None:
    """Write a file; an old one is replaced only once the new one is complete.

    Raises
    ------
    InputError
        If it cannot be written; an old file is then untouched.
    """
    try:
        write_atomically(path, data)
    except OSError as error:
        why = (error.strerror or "unknown reason").lower()
        raise InputError(
            f"“{path.name}” cannot be written ({why}); choose another place or make room there."
        ) from None
