"""Which recordings a folder holds, and which set-up belongs to each."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from wayside.errors import InputError
from wayside.review.summary import direction_of

_SOUND = (".wav", ".flac", ".ogg", ".oga", ".opus", ".mp3", ".m4a", ".aac", ".aif", ".aiff")
_RARER = (".au", ".caf", ".w64", ".amr")
_FILM = (".mp4", ".m4v", ".mov", ".3gp", ".mkv", ".webm", ".avi", ".mts")
RECORDINGS = frozenset((*_SOUND, *_RARER, *_FILM))
"""Endings of files that are tried; what they hold is told by their content."""

SETUP_SUFFIX = ".setup.json"
COMMON = "setup.json"


@dataclass(frozen=True)
class Entry:
    """One recording of the folder.

    Parameters
    ----------
    path : Path
    name : str
        Path within the folder with ``/`` between parts, in characters that can be written.
    group : str
        Sub-folder, or ``""``.
    direction : str
        ``"out"`` or ``"back"`` where the name ends so, else ``""``.
    setup : Path or None
        The set-up that belongs to it.
    setup_name : str
    """

    path: Path
    name: str
    group: str
    direction: str
    setup: Path | None
    setup_name: str


def shown_name(name: str) -> str:
    """Return a file name in characters that can be written anywhere on one line.

    Bytes that are no text and control characters are written as escapes, such as ``\\xff`` and
    ``\\n``.
    """
    text = name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return "".join(c if c.isprintable() else _escape(c) for c in text)


def entries_in(
    folder: Path, setups: Sequence[Path] = (), recursive: bool = False
) -> tuple[Entry, ...]:
    """Return the recordings of a folder, sorted by name, each with its set-up.

    A set-up belongs to the recording whose name it bears: ``run.setup.json`` (or
    ``run.mp4.setup.json``) to ``run.mp4``. Given set-ups stand before those in the folder. One
    that belongs to no recording by name serves all that have none of their own; so does a
    ``setup.json`` in the folder.

    Raises
    ------
    InputError
        If the folder cannot be read, holds no recording, or two set-ups would serve all.
    """
    files = sorted(_recordings(folder, recursive), key=lambda p: _relative(p, folder))
    if not files:
        raise InputError(
            f"“{shown_name(folder.name or str(folder))}” holds no recording or film; choose the "
            "folder that holds them."
        )
    by_name, common = _given(setups, files)
    if common is None and (folder / COMMON).is_file():
        common = folder / COMMON
    return tuple(_entry(path, folder, by_name, common) for path in files)


def _recordings(folder: Path, recursive: bool) -> list[Path]:
    name = shown_name(folder.name or str(folder))
    if not folder.exists():
        raise InputError(f"The folder “{name}” does not exist; check its name.")
    if not folder.is_dir():
        raise InputError(f"“{name}” is not a folder; name the folder that holds the recordings.")
    found: list[Path] = []

    def refuse(error: OSError) -> None:
        reason = (error.strerror or "unknown reason").lower()
        raise InputError(f"The folder “{name}” cannot be read ({reason}); choose another.")

    for here, folders, files in os.walk(folder, onerror=refuse):
        if not recursive:
            folders.clear()
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        found += [
            Path(here, f)
            for f in files
            if not f.startswith(".") and Path(f).suffix.lower() in RECORDINGS
        ]
    return found


def _given(setups: Sequence[Path], files: Sequence[Path]) -> tuple[dict[str, Path], Path | None]:
    names = {p.name for p in files} | {p.stem for p in files}
    by_name: dict[str, Path] = {}
    common: list[Path] = []
    for setup in setups:
        key = _setup_key(setup.name)
        if key in by_name:
            raise InputError(
                f"Two set-ups are given for “{shown_name(key)}”; leave one of them out."
            )
        if key in names:
            by_name[key] = setup
        else:
            common.append(setup)
    if len(common) > 1:
        listed = " and ".join(f"“{shown_name(p.name)}”" for p in common[:2])
        raise InputError(
            f"{listed} bear the name of no recording, so both would serve all others; name one."
        )
    return by_name, common[0] if common else None


def _entry(path: Path, folder: Path, by_name: dict[str, Path], common: Path | None) -> Entry:
    beside = (path.parent / f"{key}{SETUP_SUFFIX}" for key in (path.name, path.stem))
    setup = (
        by_name.get(path.name)
        or by_name.get(path.stem)
        or next((p for p in beside if p.is_file()), None)
        or common
    )
    relative = _relative(path, folder)
    return Entry(
        path,
        relative,
        relative.rpartition("/")[0],
        direction_of(shown_name(path.stem))[0],
        setup,
        shown_name(setup.name) if setup else "",
    )


def _setup_key(name: str) -> str:
    for suffix in (SETUP_SUFFIX, ".json"):
        if name.endswith(suffix):
            return name[: -len(suffix)]
    return name


def _relative(path: Path, folder: Path) -> str:
    return shown_name(path.relative_to(folder).as_posix())


def _escape(c: str) -> str:
    return c.encode("unicode_escape").decode("ascii")
