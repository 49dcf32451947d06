r"""Read the part of LaTeX that the worked steps use into a tree.

Fractions, roots, sub- and superscripts, upright words (``\mathrm``), Greek letters and a few
signs. Anything else raises `ValueError`, so that nothing is ever shown half right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

ORDINARY, BINARY, RELATION, PUNCTUATION, OPEN, CLOSE = "ord", "bin", "rel", "punct", "open", "close"


@dataclass(frozen=True)
class Text:
    """Characters in one style.

    Parameters
    ----------
    text : str
    italic : bool
        True for letters that stand for quantities.
    role : str
        ``"ord"``, ``"bin"``, ``"rel"``, ``"punct"``, ``"open"`` or ``"close"``: the space around.
    large : bool
        True for a sum sign.
    """

    text: str
    italic: bool = False
    role: str = ORDINARY
    large: bool = False


@dataclass(frozen=True)
class Space:
    """Empty width, in ems."""

    ems: float


@dataclass(frozen=True)
class Row:
    """Things one after the other."""

    parts: tuple[Node, ...]


@dataclass(frozen=True)
class Fraction:
    """One row over another."""

    top: Row
    bottom: Row


@dataclass(frozen=True)
class Root:
    """A square root."""

    body: Row


@dataclass(frozen=True)
class Scripts:
    """A base with a subscript, a superscript or both."""

    base: Node
    sub: Row | None
    sup: Row | None


Node: TypeAlias = Text | Space | Row | Fraction | Root | Scripts

_TOKEN = re.compile(r"\\[a-zA-Z]+|\\.|\d+(?:(?:\.|\{,\})\d+)?|\s+|.", re.DOTALL)
_SPACES = {r"\,": 0.17, r"\;": 0.28, r"\quad": 1.0}
_DEGREE = Text("°")
_SIGNS = {
    r"\times": Text("×", role=BINARY),
    r"\pm": Text("±", role=BINARY),
    "+": Text("+", role=BINARY),
    "-": Text("−", role=BINARY),
    "=": Text("=", role=RELATION),
    "(": Text("(", role=OPEN),
    ")": Text(")", role=CLOSE),
    ",": Text(",", role=PUNCTUATION),
    "/": Text("/"),
    r"\%": Text("%"),
    r"\circ": _DEGREE,
    r"\perp": Text("⊥"),
    r"\dots": Text("…"),
    r"\sum": Text("∑", large=True),
    r"\Delta": Text("Δ"),
    r"\delta": Text("δ", italic=True),
    r"\varepsilon": Text("ε", italic=True),
    r"\pi": Text("π"),
}


def parse(latex: str) -> Row:
    """Return the tree of one formula.

    Raises
    ------
    ValueError
        If it holds a command this reader does not know, or a brace does not match.
    """
    tokens = _Tokens(latex)
    return _row(tokens, closed=False)


def before_relation(row: Row) -> tuple[Row, Row]:
    """Split at the first relation sign: the left side, and the sign with all that follows."""
    for at, part in enumerate(row.parts):
        if isinstance(part, Text) and part.role == RELATION:
            return Row(row.parts[:at]), Row(row.parts[at:])
    return Row(()), row


class _Tokens:
    def __init__(self, latex: str) -> None:
        self._all = [t for t in _TOKEN.findall(latex) if not t.isspace()]
        self._raw = latex
        self._at = 0

    def peek(self) -> str:
        return self._all[self._at] if self._at < len(self._all) else ""

    def next(self) -> str:
        token = self.peek()
        if not token:
            raise ValueError(f"the formula ends too early: {self._raw}")
        self._at += 1
        return token

    def expect(self, wanted: str) -> None:
        if self.next() != wanted:
            raise ValueError(f"{wanted} is missing in {self._raw}")

    def word(self) -> str:
        """Return the text of a group of plain characters."""
        self.expect("{")
        parts = []
        while (token := self.next()) != "}":
            if token.startswith("\\") and token != r"\%":
                raise ValueError(f"{token} inside a word is not known")
            parts.append(token.removeprefix("\\"))
        return "".join(parts)


def _row(tokens: _Tokens, closed: bool) -> Row:
    parts: list[Node] = []
    while (token := tokens.peek()) and token != "}":
        parts.append(_with_scripts(_node(tokens, parts), tokens))
    if closed:
        tokens.expect("}")
    elif tokens.peek():
        raise ValueError("a brace closes that was never opened")
    return Row(tuple(parts))


def _with_scripts(base: Node, tokens: _Tokens) -> Node:
    found: dict[str, Row] = {}
    while tokens.peek() in ("_", "^"):
        mark = tokens.next()
        if mark in found:
            raise ValueError("two scripts at the same place")
        found[mark] = _argument(tokens)
    if base == Row(()) and set(found) == {"^"} and found["^"] == Row((_DEGREE,)):
        return _DEGREE
    return Scripts(base, found.get("_"), found.get("^")) if found else base


def _argument(tokens: _Tokens) -> Row:
    if tokens.peek() == "{":
        tokens.next()
        return _row(tokens, closed=True)
    return Row((_node(tokens, []),))


def _node(tokens: _Tokens, before: list[Node]) -> Node:
    token = tokens.next()
    if token == "{":
        return _row(tokens, closed=True)
    if token == r"\frac":
        return Fraction(_group(tokens), _group(tokens))
    if token == r"\sqrt":
        return Root(_group(tokens))
    if token == r"\mathrm":
        return Text(tokens.word())
    if token in _SPACES:
        return Space(_SPACES[token])
    if token in _SIGNS:
        return _sign(_SIGNS[token], before)
    if token.startswith("\\") or token in "{}_^&~#$":
        raise ValueError(f"{token} is not known")
    # braces around a decimal comma keep the space away that follows other commas
    return Text(token.replace("{,}", ","), italic=token.isalpha() and token.isascii())


def _group(tokens: _Tokens) -> Row:
    tokens.expect("{")
    return _row(tokens, closed=True)


def _sign(sign: Text, before: list[Node]) -> Text:
    """Return the sign; a minus with nothing before it belongs to its number."""
    solid = list(_solid(before))
    last = solid[-1] if solid else None
    alone = last is None or (isinstance(last, Text) and last.role in (BINARY, RELATION, OPEN))
    return Text(sign.text) if sign.role == BINARY and alone else sign


def _solid(parts: list[Node]) -> Iterator[Node]:
    return (part for part in parts if not isinstance(part, Space))
