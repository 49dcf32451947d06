"""Formulas as presentation MathML (W3C MathML Core), from the LaTeX of the worked steps."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement

from wayside.maths.parse import (
    BINARY,
    RELATION,
    Fraction,
    Node,
    Root,
    Row,
    Scripts,
    Space,
    Text,
    parse,
)

_DIGITS = frozenset("0123456789.")
_FENCES = frozenset("()")


def mathml(latex: str, plain: str) -> Element:
    """Return a ``math`` element for one line.

    Parameters
    ----------
    latex : str
        The line in the part of LaTeX that `wayside.maths.parse` reads.
    plain : str
        The same as plain text, for readers that know no MathML; used alone when the LaTeX
        cannot be read.
    """
    root = Element("math", {"display": "block", "alttext": plain})
    try:
        _put(root, parse(latex))
    except ValueError:
        SubElement(root, "mtext").text = plain
    return root


def _put(parent: Element, node: Node) -> None:
    match node:
        case Row(parts):
            _put_row(SubElement(parent, "mrow"), parts)
        case Fraction(top, bottom):
            fraction = SubElement(parent, "mfrac")
            _put(fraction, top)
            _put(fraction, bottom)
        case Root(body):
            _put(SubElement(parent, "msqrt"), body)
        case Scripts(base, sub, sup):
            _put_scripts(parent, base, sub, sup)
        case Space(ems):
            SubElement(parent, "mspace", {"width": f"{ems:g}em"})
        case Text():
            _put_text(parent, node)


def _put_row(parent: Element, parts: tuple[Node, ...]) -> None:
    """Put parts side by side; digits that follow each other are one number."""
    number = ""
    for part in (*parts, None):
        if isinstance(part, Text) and set(part.text) <= _DIGITS and part.text:
            number += part.text
            continue
        if number:
            SubElement(parent, "mn").text = number
            number = ""
        if part is not None:
            _put(parent, part)


def _put_scripts(parent: Element, base: Node, sub: Row | None, sup: Row | None) -> None:
    name = "msubsup" if sub and sup else "msub" if sub else "msup"
    holder = SubElement(parent, name)
    _put(holder, base)
    for script in (sub, sup):
        if script is not None:
            _put(holder, script)


def _put_text(parent: Element, text: Text) -> None:
    if text.role in (BINARY, RELATION) or text.large:
        SubElement(parent, "mo").text = text.text
    elif text.text in _FENCES:
        # brackets as tall as what they hold only where that is taller than a letter
        SubElement(parent, "mo", {"stretchy": "false"}).text = text.text
    elif set(text.text) <= _DIGITS:
        SubElement(parent, "mn").text = text.text
    elif text.italic:
        SubElement(parent, "mi").text = text.text
    elif len(text.text) == 1 and not text.text.isalpha():
        SubElement(parent, "mo", {"lspace": "0", "rspace": "0"}).text = text.text
    else:
        SubElement(parent, "mi", {"mathvariant": "normal"}).text = text.text
