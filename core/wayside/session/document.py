"""Session files (``.wayside.json``): versioned, strict when read, atomic when written.

The recording is remembered by its path relative to the session file where that is possible,
so that a folder holding both can be moved.
"""

from __future__ import annotations

import json
import math
import os
from pathlib import Path, PurePosixPath
from types import MappingProxyType
from typing import Any, NoReturn

from wayside.errors import InputError, SetupError
from wayside.files import write_atomically
from wayside.film.marks import NO_MARKS, FilmMarks
from wayside.film.marks_json import marks_from_json, marks_to_json
from wayside.hand.setup_file import parse_json
from wayside.session.session import Entry, MediaRef, Session, Span, Windows

FORMAT = "wayside-session"
VERSION = 1
SUFFIX = ".wayside.json"
MAX_BYTES = 4_000_000

_LONGEST_TEXT = 100_000
_U_KINDS = ("u", "half_width", "resolution")


class SessionError(InputError):
    """A session file that cannot be read or written."""


def session_to_json(session: Session, folder: Path) -> dict[str, Any]:
    """Return a session as plain values, for a file in `folder`."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "media": None if session.media is None else _media_to_json(session.media, folder),
        "hand": {
            "choices": dict(sorted(session.choices.items())),
            "entries": {k: _entry_to_json(e) for k, e in sorted(session.entries.items())},
            "tools": {k: _entry_to_json(e) for k, e in sorted(session.tools.items())},
        },
        "windows": {
            "approach_s": _span_to_json(session.windows.approach_s),
            "recede_s": _span_to_json(session.windows.recede_s),
        },
        "film": None if session.film == NO_MARKS else marks_to_json(session.film),
        "film_file": None
        if session.film_file is None
        else _media_to_json(session.film_file, folder),
    }


def session_from_json(data: Any, folder: Path) -> Session:
    """Return the session in plain values read from a file in `folder`.

    Raises
    ------
    SessionError
        With one sentence on what is wrong.
    """
    whole = _group(data, "the file")
    if whole.get("format") != FORMAT:
        raise SessionError(f'It is no session: its "format" is not "{FORMAT}".')
    version = whole.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise SessionError('Its "version" is not a whole number from 1 upwards.')
    if version > VERSION:
        raise SessionError(
            f"It was made by a newer program (version {version} of the format, this program "
            f"knows {VERSION}); update the program. The file was left as it is."
        )
    hand = _group(whole.get("hand", {}), "hand")
    windows = _group(whole.get("windows", {}), "windows")
    media = whole.get("media")
    return Session(
        media=None if media is None else _media_from_json(_group(media, "media"), folder),
        entries=_entries(hand.get("entries", {}), "hand.entries"),
        choices=MappingProxyType(
            {
                k: _text(v, f"hand.choices.{k}")
                for k, v in _group(hand.get("choices", {}), "").items()
            }
        ),
        tools=_entries(hand.get("tools", {}), "hand.tools"),
        windows=Windows(
            _span(windows.get("approach_s"), "windows.approach_s"),
            _span(windows.get("recede_s"), "windows.recede_s"),
        ),
        film=_film(whole.get("film")),
        film_file=None
        if whole.get("film_file") is None
        else _media_from_json(_group(whole["film_file"], "film_file"), folder),
    )


def read_session(path: Path) -> Session:
    """Read a session file.

    Raises
    ------
    SessionError
        With one sentence that names the file and what is wrong with it.
    """
    try:
        return session_from_json(_parse(path), path.parent)
    except SessionError as error:
        raise SessionError(f"{path.name} cannot be opened. {error}") from None


def write_session(session: Session, path: Path) -> None:
    """Write a session file; the old one is replaced only once the new one is complete.

    Raises
    ------
    SessionError
        If it cannot be written; the old one is then untouched.
    """
    text = json.dumps(
        session_to_json(session, path.parent), indent=1, ensure_ascii=False, allow_nan=False
    )
    try:
        write_atomically(path, (text + "\n").encode("utf-8", errors="replace"))
    except OSError as error:
        reason = (error.strerror or "unknown reason").lower()
        raise SessionError(
            f"{path.name} was not saved ({reason}); save it in another place."
        ) from None


def is_session_file(path: Path) -> bool:
    """Tell a session from a set-up or any other JSON, by what it says of itself."""
    try:
        data = _parse(path)
    except SessionError:
        return path.name.endswith(SUFFIX)
    return isinstance(data, dict) and data.get("format") == FORMAT


def _parse(path: Path) -> Any:
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "the name is not valid").lower()
        raise SessionError(f"It cannot be read ({reason}).") from None
    if len(raw) > MAX_BYTES:
        raise SessionError(f"It is larger than {MAX_BYTES // 1_000_000} MB, so it is no session.")
    try:
        return parse_json(raw.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise SessionError("It is not UTF-8 text, so it is no session.") from None
    except SetupError as error:
        raise SessionError(str(error).replace("set-up", "session")) from None


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


def _media_from_json(media: dict[str, Any], folder: Path) -> MediaRef:
    path = _text(media.get("path"), "media.path")
    if not path or "\0" in path:
        _wrong("media.path", "the path of a recording")
    size = media.get("size", -1)
    if not isinstance(size, int) or isinstance(size, bool):
        _wrong("media.size", "a whole number")
    whole = Path(os.path.normpath(folder.resolve() / path))
    return MediaRef(str(whole), size, _text(media.get("sha256", ""), "media.sha256"))


def _entry_to_json(entry: Entry) -> dict[str, Any]:
    data: dict[str, Any] = {"text": entry.text, "unit": entry.unit, "u": entry.u_text}
    if entry.u_kind != "u":
        data["u_kind"] = entry.u_kind
    if entry.extra:
        data["extra"] = dict(entry.extra)
    return data


def _entries(data: Any, where: str) -> MappingProxyType[str, Entry]:
    return MappingProxyType(
        {
            key: _entry(_group(part, f"{where}.{key}"), f"{where}.{key}")
            for key, part in _group(data, where).items()
        }
    )


def _entry(data: dict[str, Any], where: str) -> Entry:
    kind = _text(data.get("u_kind", "u"), f"{where}.u_kind")
    if kind not in _U_KINDS:
        _wrong(f"{where}.u_kind", f"one of {', '.join(_U_KINDS)}")
    extra = _group(data.get("extra", {}), f"{where}.extra")
    return Entry(
        _text(data.get("text", ""), f"{where}.text"),
        _text(data.get("unit", ""), f"{where}.unit"),
        _text(data.get("u", ""), f"{where}.u"),
        kind,
        tuple((k, _text(v, f"{where}.extra.{k}")) for k, v in extra.items()),
    )


def _film(data: Any) -> FilmMarks:
    if data is None:
        return NO_MARKS
    try:
        return marks_from_json(data)
    except InputError as error:
        raise SessionError(str(error)) from None


def _span_to_json(span: Span | None) -> list[float] | None:
    return None if span is None else [span[0], span[1]]


def _span(data: Any, where: str) -> Span | None:
    if data is None:
        return None
    numbers = (
        isinstance(data, list)
        and len(data) == 2
        and all(
            isinstance(x, int | float) and not isinstance(x, bool) and math.isfinite(x)
            for x in data
        )
    )
    if not numbers or not data[0] < data[1]:
        _wrong(where, "two times, the earlier first")
    return float(data[0]), float(data[1])


def _group(data: Any, where: str) -> dict[str, Any]:
    if not isinstance(data, dict):
        _wrong(where, "a group in braces")
    return data


def _text(data: Any, where: str) -> str:
    if not isinstance(data, str) or len(data) > _LONGEST_TEXT:
        _wrong(where, "text in quotes")
    return data


def _wrong(where: str, wanted: str) -> NoReturn:
    raise SessionError(f"In it, {where or 'an entry'} should be {wanted}.")
