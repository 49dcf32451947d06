"""Set-up files: reading with care, writing without ever leaving half a file behind."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any, NoReturn

from wayside.errors import SetupError
from wayside.hand.setup import Draft, Setup
from wayside.hand.setup_json import setup_from_json, setup_to_json
from wayside.hand.whole_file import reason, write_whole

MAX_BYTES = 1_000_000
MAX_DEPTH = 20


def read_setup(path: str | os.PathLike[str]) -> Setup:
    """Read a set-up file.

    Raises
    ------
    SetupError
        With one sentence that names the file and what is wrong with it.
    """
    name = Path(path).name
    try:
        return setup_from_json(parse_json(_read_text(Path(path))))
    except SetupError as error:
        raise SetupError(f"{name}: {error}", error.field) from None


def write_setup(setup: Draft, path: str | os.PathLike[str]) -> None:
    """Write a set-up file; the old one is replaced only once the new one is complete.

    Raises
    ------
    SetupError
        If the file cannot be written; the old one is then untouched.
    """
    text = json.dumps(setup_to_json(setup), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    write_whole(path, text)


def parse_json(text: str) -> Any:
    """Parse strict JSON: no doubled keys, no NaN, no numbers beyond range, no deep nesting.

    Raises
    ------
    SetupError
        With one sentence on what is wrong.
    """
    if _depth(text) > MAX_DEPTH:
        raise SetupError("The file is nested too deeply to be a set-up.")
    try:
        data = json.loads(
            text,
            object_pairs_hook=_no_doubles,
            parse_constant=_no_constant,
            parse_float=_finite,
            parse_int=_whole,
        )
    except json.JSONDecodeError as error:
        raise SetupError(
            f"The file is not valid JSON: {error.msg} in line {error.lineno}, column {error.colno}."
        ) from None
    except RecursionError:
        raise SetupError("The file is nested too deeply to be a set-up.") from None
    if "\\u" in text:
        _no_half_characters(data)
    return data


def _no_half_characters(data: Any) -> None:
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise SetupError(
            r"The file holds half of a character (\ud800 to \udfff without its partner); remove it."
        ) from None


def _read_text(path: Path) -> str:
    try:
        with open(path, "rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise SetupError(f"the file cannot be read ({reason(error)}).") from None
    except ValueError:
        raise SetupError("the file name is not valid.") from None
    if len(data) > MAX_BYTES:
        raise SetupError("the file is larger than 1 MB, so it is no set-up.")
    if not data.strip():
        raise SetupError("the file is empty.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise SetupError("the file is not UTF-8 text, so it is no set-up.") from None


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise SetupError(f'"{key[:40]}" is given twice in one group; keep one.', key[:40])
            seen.add(key)
    return out


def _no_constant(word: str) -> NoReturn:
    raise SetupError(f"The file holds {word}, which is not a number; give an ordinary number.")


def _finite(text: str) -> float:
    value = float(text)
    if value in (float("inf"), float("-inf")):
        raise SetupError(f"The number {text[:20]} is far too large; check it.")
    return value


def _whole(text: str) -> int:
    if len(text) > 300:
        raise SetupError(f"The number {text[:10]}... is far too large; check it.")
    return int(text)


def _depth(text: str) -> int:
    deepest = depth = 0
    in_string = escaped = False
    for ch in text:
        if in_string:
            in_string = escaped or ch != '"'
            escaped = ch == "\\" and not escaped
        elif ch == '"':
            in_string = True
        elif ch in "{[":
            depth += 1
            deepest = max(deepest, depth)
        elif ch in "}]":
            depth -= 1
    return deepest
