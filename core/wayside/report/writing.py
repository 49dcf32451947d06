"""Writing what was made: checked before the work, whole or not at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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


def check_folder(folder: Path, names: Sequence[str], force: bool) -> None:
    """Raise `InputError` unless files of these names may be written into `folder`."""
    if folder.exists() and not folder.is_dir():
        raise InputError(f"“{folder}” is no folder; name another.")
    if not folder.exists() and not folder.parent.is_dir():
        raise InputError(f"There is no folder “{folder.parent}”; make it first or name another.")
    there = [name for name in names if (folder / name).exists()]
    if there and not force:
        raise InputError(
            f"“{folder / there[0]}” exists; name another folder, or add --force to replace it."
        )


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files into a folder, which is made if need be; each whole or not at all.

    Raises
    ------
    InputError
        If one of them cannot be written.
    """
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        why = (error.strerror or "unknown reason").lower()
        raise InputError(
            f"The folder “{folder.name}” cannot be made ({why}); name another."
        ) from None
    for name, data in files.items():
        write_out(folder / name, data)
