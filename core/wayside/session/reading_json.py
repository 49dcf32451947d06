"""Small strict readers for session files: each takes what it wants or says what is wrong."""

from __future__ import annotations

import math
from typing import Any, NoReturn

from wayside.errors import InputError

LONGEST_TEXT = 100_000


class SessionError(InputError):
    """A session file that cannot be read or written."""


def group(data: Any, where: str) -> dict[str, Any]:
    """Return a group in braces."""
    if not isinstance(data, dict):
        wrong(where, "a group in braces")
    return data


def items(data: Any, where: str, most: int) -> list[Any]:
    """Return a list of at most so many."""
    if not isinstance(data, list) or len(data) > most:
        wrong(where, f"a list of at most {most}")
    return data


def text(data: Any, where: str) -> str:
    """Return a text of sensible length."""
    if not isinstance(data, str) or len(data) > LONGEST_TEXT:
        wrong(where, "text in quotes")
    return data


def one_of(data: Any, where: str, choices: tuple[str, ...]) -> str:
    """Return one of some words."""
    said = text(data, where)
    if said not in choices:
        wrong(where, f"one of {', '.join(repr(c) for c in choices)}")
    return said


def whole(data: Any, where: str) -> int:
    """Return a whole number."""
    if not isinstance(data, int) or isinstance(data, bool):
        wrong(where, "a whole number")
    return data


def span(data: Any, where: str) -> tuple[float, float] | None:
    """Return two times, or None."""
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
        wrong(where, "two times, the earlier first")
    return float(data[0]), float(data[1])


def wrong(where: str, wanted: str) -> NoReturn:
    """Raise the sentence that says what should be where."""
    raise SessionError(f"In it, {where or 'an entry'} should be {wanted}.")
