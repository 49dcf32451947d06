"""How an input is known, in a few words: what its uncertainty was made from."""

from __future__ import annotations

import math

from PySide6.QtCore import QCoreApplication

from wayside.hand.entry import NORMAL, RECTANGULAR, STUDENT, TRIANGULAR, Component
from wayside.hand.inputs import FORMULA_ERROR, Input
from wayside.quantity import Quantity
from wayside_app.window import figures


def value_text(i: Input) -> str:
    """Return the input as the user gave it, with its combined standard uncertainty."""
    unit = i.unit
    return figures.full(Quantity(unit.from_si(i.value), unit.u_from_si(i.u), unit.symbol))


def known_text(i: Input) -> str:
    """Return where value and uncertainty come from."""
    parts = [_part(c, i) for c in i.components]
    if i.path == FORMULA_ERROR.path:
        return _tr("what the formula leaves out")
    text = " + ".join(parts) if parts else _tr("exact")
    if len(i.readings) > 1:
        text = _tr("{n} readings: {parts}").format(n=len(i.readings), parts=text)
    if i.tool:
        text += _tr("; read with {tool}").format(tool=i.tool)
    return _tr("assumed: {text}").format(text=text) if i.assumed else text


def _part(c: Component, i: Input) -> str:
    u = i.unit.u_from_si(c.u)
    if c.distribution == STUDENT:
        spread = figures.bare_u(Quantity(0.0, u * math.sqrt(len(i.readings)), i.unit.symbol))
        return _tr("scatter {s}").format(s=spread)
    if c.reason == "read-off":
        step = figures.bare_u(Quantity(0.0, u * math.sqrt(12.0), i.unit.symbol))
        return _tr("scale step {step}").format(step=step)
    if c.distribution == RECTANGULAR:
        half = figures.bare_u(Quantity(0.0, u * math.sqrt(3.0), i.unit.symbol))
        return _tr("between limits ± {half}").format(half=half)
    if c.distribution == TRIANGULAR:
        half = figures.bare_u(Quantity(0.0, u * math.sqrt(6.0), i.unit.symbol))
        return _tr("between limits ± {half}, middle likelier").format(half=half)
    assert c.distribution == NORMAL
    return _tr("stated u")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Known", text)
