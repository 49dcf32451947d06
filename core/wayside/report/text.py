"""Text that came from outside, made fit for a page: names, notes and paths as they were typed."""

from __future__ import annotations

import unicodedata

_KEPT = frozenset("\n\t")
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_NONCHARACTERS = frozenset("\ufffe\uffff")


def clean(text: str) -> str:
    """Return text without signs that XML forbids or that turn the reading direction.

    They become the replacement character, so that it is seen that something was there.
    """
    return "".join("\ufffd" if _unfit(c) else c for c in text)


def one_line(text: str) -> str:
    """Return clean text on one line."""
    return " ".join(clean(text).split())


def _unfit(c: str) -> bool:
    # surrogates stand for bytes of file names that are no UTF-8
    bad = unicodedata.category(c) in ("Cc", "Cs") or c in _TURNING or c in _NONCHARACTERS
    return bad and c not in _KEPT
