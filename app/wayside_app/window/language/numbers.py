"""Decimal sign: put into numbers that are shown, and taken out of numbers that are typed."""

from __future__ import annotations

import re

POINT = "."

_SHOWN = re.compile(r"(?<![\w.,/])((?:\d+)?)\.(\d+(?:[eE][+−-]?\d+)?)(?![\w.]|,\d)")
_IN_LATEX = re.compile(r"(?<=\d)\.(?=\d)")
_FILE = re.compile(r"\.\w*[A-Za-z]\w*$")
_TYPED = re.compile(r"(?<![\d.,])([+−–-]?\d*),(\d*)(?![\d.,])")


def with_sign(text: str, sign: str) -> str:
    """Write the numbers of a text with a decimal sign; the name of a file stays as it is."""
    if sign == POINT or _FILE.search(text):
        return text
    return _SHOWN.sub(lambda m: f"{m.group(1)}{sign}{m.group(2)}", text)


def latex_with_sign(latex: str, sign: str) -> str:
    """Write the numbers of a LaTeX formula with a decimal sign; a comma stands in braces."""
    return latex if sign == POINT else _IN_LATEX.sub(f"{{{sign}}}", latex)


def plain(text: str) -> str:
    """Return typed numbers with a decimal point, as they are kept, whatever was typed.

    What can be read in two ways, such as ``1.234,5``, stays as it is, so that it is refused.
    """
    return _TYPED.sub(r"\1.\2", text)
