"""Finished rows, kept beside the results so that a stopped batch goes on where it was."""

from __future__ import annotations

import json
from pathlib import Path

from wayside.errors import InputError
from wayside.files import write_atomically
from wayside.hand.whole_file import reason
from wayside.review.row import MEASURED, REFUSED, RunRow
from wayside.review.row_json import row_as_json, row_from_json

FOLDER = ".wayside-finished"


def prepare(out: Path) -> None:
    """Make the folder for results and see that it can be written to, before any work is done.

    Raises
    ------
    InputError
        If it cannot.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        (out / FOLDER).mkdir(exist_ok=True)
        probe = out / FOLDER / "probe"
        write_atomically(probe, b"may this folder be written to?")
        probe.unlink()
    except OSError as error:
        raise _refused(out, error) from None


def kept(out: Path, key: str) -> RunRow | None:
    """Return the row kept under `key`, or None."""
    try:
        return row_from_json(json.loads((out / FOLDER / f"{key}.json").read_text("utf-8")))
    except (OSError, ValueError):
        # lost or damaged: measuring again is all it costs
        return None


def keep(out: Path, key: str, row: RunRow) -> None:
    """Keep a finished row; failures are not kept, since what was wrong may be put right.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    if row.outcome in (MEASURED, REFUSED):
        text = json.dumps(row_as_json(row), ensure_ascii=True, allow_nan=False)
        write_result(out / FOLDER / f"{key}.json", text)


def write_result(path: Path, text: str) -> None:
    """Write one file of results whole or not at all.

    Raises
    ------
    InputError
        If it cannot be written; an old file is then untouched.
    """
    try:
        write_atomically(path, text.encode("utf-8"))
    except OSError as error:
        raise _refused(path.parent, error) from None


def _refused(out: Path, error: OSError) -> InputError:
    name = (out.parent if out.name == FOLDER else out).absolute().name
    return InputError(
        f"Results cannot be written to the folder “{name}” ({reason(error)}); make room there or "
        "choose another folder with --out."
    )
