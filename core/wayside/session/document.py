"""Session files (``.wayside.json``): versioned, strict when read, atomic when written.

Version 1 held one run without a name; version 2 holds a list of runs, and with each what was
measured in it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from wayside.errors import SetupError
from wayside.files import write_atomically
from wayside.hand.setup_file import parse_json
from wayside.measure.result import Measurement
from wayside.session.kept import Results, kept_from_json, kept_to_json
from wayside.session.reading_json import SessionError, group, items, whole
from wayside.session.run import Run
from wayside.session.run_json import (
    choices_from_json,
    entries_from_json,
    entries_to_json,
    run_from_json,
    run_to_json,
)
from wayside.session.session import MOST_RUNS, PLAN, Session

__all__ = [
    "FORMAT",
    "SUFFIX",
    "VERSION",
    "Document",
    "Measured",
    "SessionError",
    "is_session_file",
    "read_document",
    "read_session",
    "session_from_json",
    "session_to_json",
    "write_session",
]

FORMAT = "wayside-session"
VERSION = 2
SUFFIX = ".wayside.json"
MAX_BYTES = 16_000_000

T = TypeVar("T")

Measured = Callable[[Run], tuple[str, Measurement] | None]
"""Gives the stamp and the result of a run, if it was measured."""


@dataclass(frozen=True)
class Document:
    """What a session file holds.

    Parameters
    ----------
    session : Session
    results : mapping of str to Measurement
        By stamp (`wayside.session.kept.stamp`); only what can still be read.
    """

    session: Session
    results: Results


def _nothing(run: Run) -> None:
    return None


def session_to_json(
    session: Session, folder: Path, measured: Measured = _nothing
) -> dict[str, Any]:
    """Return a session as plain values, for a file in `folder`."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "shown": session.shown,
        "runs": [_run_to_json(run, folder, measured) for run in session.runs],
        "plan": {
            "choices": dict(sorted(session.plan_choices.items())),
            "entries": entries_to_json(session.plan_entries),
        },
    }


def document_from_json(data: Any, folder: Path) -> Document:
    """Return the document in plain values read from a file in `folder`.

    Raises
    ------
    SessionError
        With one sentence on what is wrong.
    """
    top = group(data, "the file")
    if top.get("format") != FORMAT:
        raise SessionError(f'It is no session: its "format" is not "{FORMAT}".')
    version = top.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise SessionError('Its "version" is not a whole number from 1 upwards.')
    if version > VERSION:
        raise SessionError(
            f"It was made by a newer program (version {version} of the format, this program "
            f"knows {VERSION}); update the program. The file was left as it is."
        )
    if version == 1:
        return Document(_version_1(top, folder), {})
    parts = items(top.get("runs"), "runs", MOST_RUNS) or [{}]
    groups = [group(part, f"runs[{at}]") for at, part in enumerate(parts)]
    runs = tuple(
        run_from_json(part, folder, at + 1, f"runs[{at}].") for at, part in enumerate(groups)
    )
    plan = group(top.get("plan", {}), "plan")
    shown = whole(top.get("shown", 0), "shown")
    session = Session(
        runs,
        min(max(shown, 0), len(runs) - 1),
        entries_from_json(plan.get("entries", {}), "plan.entries"),
        choices_from_json(plan.get("choices", {}), "plan.choices"),
    )
    kept = [kept_from_json(part["measured"]) for part in groups if "measured" in part]
    return Document(session, dict(pair for pair in kept if pair is not None))


def session_from_json(data: Any, folder: Path) -> Session:
    """Return the session alone; see `document_from_json`."""
    return document_from_json(data, folder).session


def read_document(path: Path) -> Document:
    """Read a session file with the results kept in it.

    Raises
    ------
    SessionError
        With one sentence that names the file and what is wrong with it.
    """
    try:
        return document_from_json(_parse(path), path.parent)
    except SessionError as error:
        raise SessionError(f"{path.name} cannot be opened. {error}") from None


def read_session(path: Path) -> Session:
    """Read what a person put into a session file; see `read_document`."""
    return read_document(path).session


def write_session(session: Session, path: Path, measured: Measured = _nothing) -> None:
    """Write a session file; the old one is replaced only once the new one is complete.

    Raises
    ------
    SessionError
        If it cannot be written; the old one is then untouched.
    """
    data = _encode(session, path.parent, measured)
    if len(data) > MAX_BYTES:
        # results can be had again, what was typed cannot
        data = _encode(session, path.parent, _nothing)
    try:
        write_atomically(path, data)
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


def _encode(session: Session, folder: Path, measured: Measured) -> bytes:
    data = session_to_json(session, folder, measured)
    text = json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)
    return (text + "\n").encode("utf-8", errors="replace")


def _run_to_json(run: Run, folder: Path, measured: Measured) -> dict[str, Any]:
    data = run_to_json(run, folder)
    if (kept := measured(run)) is not None:
        data["measured"] = kept_to_json(*kept)
    return data


def _version_1(top: dict[str, Any], folder: Path) -> Session:
    """The only run holds the plan too."""
    run = run_from_json(top, folder, 1)
    return Session(
        (replace(run, entries=_not_plan(run.entries), choices=_not_plan(run.choices)),),
        0,
        MappingProxyType({k: e for k, e in run.entries.items() if k.startswith(PLAN)}),
        MappingProxyType({k: c for k, c in run.choices.items() if k.startswith(PLAN)}),
    )


def _not_plan(values: Mapping[str, T]) -> Mapping[str, T]:
    return MappingProxyType({k: v for k, v in values.items() if not k.startswith(PLAN)})


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
