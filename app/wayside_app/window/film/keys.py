"""The film's keys: one table that the panel obeys, lists on screen, and gives to the help."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QKeyEvent

_K = Qt.Key
_NONE = Qt.KeyboardModifier.NoModifier
_CTRL = Qt.KeyboardModifier.ControlModifier
_SHIFT = Qt.KeyboardModifier.ShiftModifier
_ALT = Qt.KeyboardModifier.AltModifier
_MATTERS = _CTRL | _SHIFT | _ALT

_ARROWS = (_K.Key_Left, _K.Key_Right, _K.Key_Up, _K.Key_Down)
_DIRECTIONS = {
    _K.Key_Left: (-1, 0),
    _K.Key_Right: (1, 0),
    _K.Key_Up: (0, -1),
    _K.Key_Down: (0, 1),
}

FRAME, SECOND, ENDS = "frame", "second", "ends"
BEFORE, AFTER, FLIP, SPOT = "before", "after", "flip", "spot"
NEW, PICK, MOVE, MOVE_FAR, REMOVE = "new", "pick", "move", "move far", "remove"
ZOOM, WHOLE, PAN = "zoom", "whole", "pan"
PROPOSE, CONFIRM, DROP, PASSING = "propose", "confirm", "drop", "passing"


@dataclass(frozen=True)
class Stroke:
    """What a key stroke means.

    Parameters
    ----------
    action : str
        One of this module's names.
    x, y : int
        Direction, or the digit for picking a marker.
    """

    action: str
    x: int = 0
    y: int = 0


@dataclass(frozen=True)
class FilmKey:
    """One line of the list of keys."""

    shown: str
    what: str


def stroke_of(event: QKeyEvent) -> Stroke | None:
    """Return what a key stroke means, or None if nothing here."""
    key = Qt.Key(event.key())
    held = event.modifiers() & _MATTERS
    if key in _ARROWS:
        return _arrow(key, held)
    if held in (_NONE, _SHIFT) and key in _SIGNS:
        return _SIGNS[key]
    if held == _NONE:
        if _K.Key_1 <= key <= _K.Key_9:
            return Stroke(PICK, int(key) - int(_K.Key_0))
        return _PLAIN.get(key)
    return None


def _arrow(key: Qt.Key, held: Qt.KeyboardModifier) -> Stroke | None:
    x, y = _DIRECTIONS[key]
    if held == _SHIFT:
        return Stroke(MOVE, x, y)
    if held == _SHIFT | _CTRL:
        return Stroke(MOVE_FAR, x, y)
    if held == _ALT:
        return Stroke(PAN, x, y)
    if not x:
        return None
    return {_NONE: Stroke(FRAME, x), _CTRL: Stroke(SECOND, x)}.get(held)


_SIGNS = {
    _K.Key_Plus: Stroke(ZOOM, 1),
    _K.Key_Equal: Stroke(ZOOM, 1),
    _K.Key_Minus: Stroke(ZOOM, -1),
    _K.Key_Underscore: Stroke(ZOOM, -1),
}

_PLAIN = {
    _K.Key_PageUp: Stroke(SECOND, -1),
    _K.Key_PageDown: Stroke(SECOND, 1),
    _K.Key_Home: Stroke(ENDS, -1),
    _K.Key_End: Stroke(ENDS, 1),
    _K.Key_B: Stroke(BEFORE),
    _K.Key_A: Stroke(AFTER),
    _K.Key_F: Stroke(FLIP),
    _K.Key_W: Stroke(SPOT),
    _K.Key_N: Stroke(NEW),
    _K.Key_Delete: Stroke(REMOVE),
    _K.Key_Backspace: Stroke(REMOVE),
    _K.Key_0: Stroke(WHOLE),
    _K.Key_P: Stroke(PROPOSE),
    _K.Key_Return: Stroke(CONFIRM),
    _K.Key_Enter: Stroke(CONFIRM),
    _K.Key_Escape: Stroke(DROP),
    _K.Key_G: Stroke(PASSING),
}


def film_keys() -> tuple[FilmKey, ...]:
    """Return the list of keys as shown."""
    return (
        FilmKey("← →", _tr("one frame")),
        FilmKey(_tr("Ctrl ← →"), _tr("one second")),
        FilmKey(_tr("Home End"), _tr("first, last frame")),
        FilmKey("N", _tr("new marker line")),
        FilmKey("1 … 9", _tr("pick a marker; again: its ends")),
        FilmKey(_tr("Shift ← → ↑ ↓"), _tr("move what is picked")),
        FilmKey("B", _tr("this is the last frame before")),
        FilmKey("A", _tr("this is the first frame after")),
        FilmKey("F", _tr("flip between the two")),
        FilmKey("W", _tr("mark the wheel in this frame")),
        FilmKey("P", _tr("propose crossings")),
        FilmKey(_tr("Enter"), _tr("set the wheel, take a proposal")),
        FilmKey("G", _tr("passing time by sound")),
        FilmKey("+ − 0", _tr("zoom; whole picture")),
        FilmKey("Alt ← → ↑ ↓", _tr("move the picture")),
        FilmKey(_tr("Delete"), _tr("remove the marker")),
        FilmKey(_tr("Esc"), _tr("drop, or back to the recording")),
    )


def _tr(text: str) -> str:
    return QCoreApplication.translate("FilmKeys", text)
