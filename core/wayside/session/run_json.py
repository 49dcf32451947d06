"""One run to plain values and back.

The recording is remembered by its path relative to the session file where that is possible,
so that a folder holding both can be moved.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from types import MappingProxyType
from typing import Any

from wayside.errors import InputError
from wayside.film.marks import NO_MARKS, FilmMarks
from wayside.film.marks_json import marks_from_json, marks_to_json
from wayside.review.row import DIRECTIONS
from wayside.session.reading_json import SessionError, group, one_of, span, text, whole, wrong
from wayside.session.run import Entry, MediaRef, Run, Span, Windows

_U_KINDS = ("u", "half_width", "resolution")


def run_to_json(run: Run, folder: Path) -> dict[str, Any]:
    """Return a run as plain values, for a file in `folder`."""
    return {
        "name": run.name,
        "group": run.group,
        "direction": run.direction,
        "media": None if run.media is None else _media_to_json(run.media, folder),
        "hand": {
            "choices": dict(sorted(run.choices.items())),
            "entries": entries_to_json(run.entries),
            "tools": entries_to_json(run.tools),
        },
        "windows": {
            "approach_s": _span_to_json(run.windows.approach_s),
            "recede_s": _span_to_json(run.windows.recede_s),
        },
        "film": None if run.film == NO_MARKS else marks_to_json(run.film),
        "film_file": None if run.film_file is None else _media_to_json(run.film_file, folder),
    }


def run_from_json(data: dict[str, Any], folder: Path, key: int, where: str = "") -> Run:
    """Return the run in plain values read from a file in `folder`.

    Parameters
    ----------
    data : dict
    folder : Path
    key : int
        The key it gets.
    where : str
        First part of the places that a fault names.

    Raises
    ------
    SessionError
    """
    hand = group(data.get("hand", {}), f"{where}hand")
    windows = group(data.get("windows", {}), f"{where}windows")
    return Run(
        media=_media_from_json(data.get("media"), folder, f"{where}media"),
        entries=entries_from_json(hand.get("entries", {}), f"{where}hand.entries"),
        choices=choices_from_json(hand.get("choices", {}), f"{where}hand.choices"),
        tools=entries_from_json(hand.get("tools", {}), f"{where}hand.tools"),
        windows=Windows(
            span(windows.get("approach_s"), f"{where}windows.approach_s"),
            span(windows.get("recede_s"), f"{where}windows.recede_s"),
        ),
        film=_film(data.get("film")),
        film_file=_media_from_json(data.get("film_file"), folder, f"{where}film_file"),
        name=text(data.get("name", ""), f"{where}name"),
        group=text(data.get("group", ""), f"{where}group"),
        direction=one_of(data.get("direction", ""), f"{where}direction", DIRECTIONS),
        key=key,
    )


def entries_to_json(entries: Mapping[str, Entry]) -> dict[str, Any]:
    """Return typed entries as plain values."""
    return {key: _entry_to_json(entry) for key, entry in sorted(entries.items())}


def entries_from_json(data: Any, where: str) -> MappingProxyType[str, Entry]:
    """Return typed entries."""
    parts = group(data, where).items()
    return MappingProxyType({key: _entry(part, f"{where}.{key}") for key, part in parts})


def choices_from_json(data: Any, where: str) -> MappingProxyType[str, str]:
    """Return answers to either-or questions."""
    parts = group(data, where).items()
    return MappingProxyType({key: text(part, f"{where}.{key}") for key, part in parts})


def _media_to_json(media: MediaRef, folder: Path) -> dict[str, Any]:
    path = Path(media.path)
    try:
        relative = os.path.relpath(path, folder.resolve())
    except ValueError:  # another drive
        relative = media.path
    return {
        "path": PurePosixPath(*Path(relative).parts).as_posix(),
        "size": media.size,
        "sha256": media.sha256,
    }


def _media_from_json(data: Any, folder: Path, where: str) -> MediaRef | None:
    if data is None:
        return None
    media = group(data, where)
    path = text(media.get("path"), f"{where}.path")
    if not path or "\0" in path:
        wrong(f"{where}.path", "the path of a recording")
    size = whole(media.get("size", -1), f"{where}.size")
    found = Path(os.path.normpath(folder.resolve() / path))
    return MediaRef(str(found), size, text(media.get("sha256", ""), f"{where}.sha256"))


def _entry_to_json(entry: Entry) -> dict[str, Any]:
    data: dict[str, Any] = {"text": entry.text, "unit": entry.unit, "u": entry.u_text}
    if entry.u_kind != "u":
        data["u_kind"] = entry.u_kind
    if entry.extra:
        data["extra"] = dict(entry.extra)
    return data


def _entry(part: Any, where: str) -> Entry:
    data = group(part, where)
    extra = group(data.get("extra", {}), f"{where}.extra")
    return Entry(
        text(data.get("text", ""), f"{where}.text"),
        text(data.get("unit", ""), f"{where}.unit"),
        text(data.get("u", ""), f"{where}.u"),
        one_of(data.get("u_kind", "u"), f"{where}.u_kind", _U_KINDS),
        tuple((k, text(v, f"{where}.extra.{k}")) for k, v in extra.items()),
    )


def _film(data: Any) -> FilmMarks:
    if data is None:
        return NO_MARKS
    try:
        return marks_from_json(data)
    except InputError as error:
        raise SessionError(str(error)) from None


def _span_to_json(value: Span | None) -> list[float] | None:
    return None if value is None else [value[0], value[1]]
