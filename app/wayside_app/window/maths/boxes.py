"""Setting a formula: every part becomes a box with a width, an ascent and a descent."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPen

from wayside.maths.parse import (
    BINARY,
    PUNCTUATION,
    RELATION,
    Fraction,
    Node,
    Root,
    Row,
    Scripts,
    Space,
    Text,
)

_SERIFS = ["DejaVu Serif", "Liberation Serif", "Noto Serif", "Times", "serif"]
_SCALES = (1.0, 0.8, 0.66)
_SIDE_EMS = {BINARY: 0.22, RELATION: 0.3}
_AXIS_EMS = 0.29
_RULE_EMS = 0.055


class Box:
    """A part of a formula with its size in pixels; `draw` paints it at its baseline."""

    breakable = False
    """True where a line may be broken before it."""

    closes = False
    """True where a line may be broken after it."""

    def __init__(self, width: float, ascent: float, descent: float) -> None:
        self.width = width
        self.ascent = ascent
        self.descent = descent

    @property
    def height(self) -> float:
        """From the lowest to the highest point."""
        return self.ascent + self.descent

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        """Paint the box with its left end at `x` and its baseline at `y`."""


class Word(Box):
    """Characters in one font."""

    def __init__(self, text: str, font: QFont, drop: float = 0.0) -> None:
        width, top, bottom = _measure(text, font.pointSizeF(), font.italic(), font.bold())
        super().__init__(width, -top - drop, bottom + drop)
        self._text, self._font, self._drop = text, font, drop

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        painter.setFont(self._font)
        painter.drawText(QPointF(x, y + self._drop), self._text)


class Line(Box):
    """Boxes side by side on one baseline."""

    def __init__(self, boxes: Iterable[Box]) -> None:
        self.boxes = tuple(boxes)
        super().__init__(
            sum(b.width for b in self.boxes),
            max((b.ascent for b in self.boxes), default=0.0),
            max((b.descent for b in self.boxes), default=0.0),
        )

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        for box in self.boxes:
            box.draw(painter, x, y)
            x += box.width


class Comma(Line):
    """A sign of punctuation with its space; a line may be broken after it."""

    closes = True


class Padded(Box):
    """A box with room to its left and right; a line may be broken before it."""

    breakable = True

    def __init__(self, box: Box, side: float) -> None:
        super().__init__(box.width + 2.0 * side, box.ascent, box.descent)
        self._box, self._side = box, side

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        self._box.draw(painter, x + self._side, y)


class Stacked(Box):
    """A fraction."""

    def __init__(self, top: Box, bottom: Box, em: float) -> None:
        self._top, self._bottom = top, bottom
        self._axis, self._rule = _AXIS_EMS * em, max(1.0, _RULE_EMS * em)
        gap = 0.16 * em
        self._rise = self._axis + gap + top.descent
        self._fall = gap + bottom.ascent - self._axis
        self._side = 0.1 * em
        super().__init__(
            max(top.width, bottom.width) + 4.0 * self._side,
            self._rise + top.ascent,
            self._fall + bottom.descent,
        )

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        for box, at in ((self._top, y - self._rise), (self._bottom, y + self._fall)):
            box.draw(painter, x + 0.5 * (self.width - box.width), at)
        bar = QRectF(
            x + self._side,
            y - self._axis - 0.5 * self._rule,
            self.width - 2.0 * self._side,
            self._rule,
        )
        painter.fillRect(bar, painter.pen().color())


class Rooted(Box):
    """A square root, its sign drawn to fit."""

    def __init__(self, body: Box, em: float) -> None:
        self._body, self._em = body, em
        self._hook = 0.62 * em
        gap = 0.18 * em
        super().__init__(
            self._hook + body.width + 0.12 * em, body.ascent + gap, body.descent + 0.06 * em
        )

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        pen = painter.pen()
        top, low = y - self.ascent, y + self.descent
        thin = QPen(pen.color(), max(1.0, _RULE_EMS * self._em))
        painter.setPen(thin)
        middle = low - 0.45 * (low - top)
        painter.drawPolyline(
            [
                QPointF(x + 0.06 * self._em, middle + 0.08 * self._em),
                QPointF(x + 0.2 * self._em, middle),
                QPointF(x + 0.38 * self._em, low),
                QPointF(x + self._hook - 0.06 * self._em, top),
                QPointF(x + self.width, top),
            ]
        )
        painter.setPen(pen)
        self._body.draw(painter, x + self._hook, y)


class Scripted(Box):
    """A base with scripts to its right."""

    def __init__(self, base: Box, sub: Box | None, sup: Box | None, em: float) -> None:
        self._base, self._sub, self._sup = base, sub, sup
        self._fall, self._rise = 0.2 * em, max(0.38 * em, base.ascent - 0.25 * em)
        self._gap = 0.04 * em
        width = max((s.width for s in (sub, sup) if s is not None), default=0.0)
        super().__init__(
            base.width + self._gap + width + self._gap,
            max(base.ascent, self._rise + sup.ascent if sup else 0.0),
            max(base.descent, self._fall + sub.descent if sub else 0.0),
        )

    def draw(self, painter: QPainter, x: float, y: float) -> None:
        self._base.draw(painter, x, y)
        right = x + self._base.width + self._gap
        if self._sub is not None:
            self._sub.draw(painter, right, y + self._fall)
        if self._sup is not None:
            self._sup.draw(painter, right, y - self._rise)


@dataclass(frozen=True)
class Typesetter:
    """Makes boxes in one text size.

    Parameters
    ----------
    points : float
        Text size.
    bold : bool
    """

    points: float
    bold: bool = False

    def font(self, level: int = 0, italic: bool = False, scale: float = 1.0) -> QFont:
        """Return the font of a level: 0 main line, 1 and 2 scripts and fractions in them."""
        points = self.points * _SCALES[min(level, len(_SCALES) - 1)] * scale
        return _font(points, italic, self.bold)

    def em(self, level: int = 0) -> float:
        """Return the text size in pixels."""
        return _em(self.points * _SCALES[min(level, len(_SCALES) - 1)])

    def line(self, row: Row, level: int = 0) -> Line:
        """Return the box of a row."""
        return Line(self.box(part, level) for part in row.parts)

    def box(self, node: Node, level: int = 0) -> Box:
        """Return the box of any part."""
        em = self.em(level)
        match node:
            case Text():
                return self._word(node, level, em)
            case Space(ems):
                return Box(ems * em, 0.0, 0.0)
            case Row():
                return self.line(node, level)
            case Fraction(top, bottom):
                inner = level + 1 if level else 0
                return Stacked(self.line(top, inner), self.line(bottom, inner), em)
            case Root(body):
                return Rooted(self.line(body, level), em)
            case Scripts(base, sub, sup):
                small = level + 1
                return Scripted(
                    self.box(base, level),
                    None if sub is None else self.line(sub, small),
                    None if sup is None else self.line(sup, small),
                    em,
                )

    def _word(self, node: Text, level: int, em: float) -> Box:
        if node.large:
            return Word(node.text, self.font(level, scale=1.3), 0.08 * em)
        word = Word(node.text, self.font(level, node.italic))
        side = _SIDE_EMS.get(node.role, 0.0)
        if side:
            return Padded(word, side * em if level < 1 else 0.5 * side * em)
        if node.role == PUNCTUATION:
            return Comma((word, Box(0.2 * em, 0.0, 0.0)))
        return word


def broken(line: Line, room: float) -> list[Line]:
    """Return a line broken before signs and after commas, each piece within `room` if it can."""
    if line.width <= room:
        return [line]
    pieces: list[list[Box]] = [[]]
    width = 0.0
    for chunk in _chunks(line.boxes):
        size = sum(b.width for b in chunk)
        if pieces[-1] and width + size > room:
            pieces.append([])
            width = 0.0
        pieces[-1] += chunk
        width += size
    return [Line(piece) for piece in pieces]


def _chunks(boxes: tuple[Box, ...]) -> list[list[Box]]:
    chunks: list[list[Box]] = []
    for at, box in enumerate(boxes):
        after_sign = at > 0 and boxes[at - 1].breakable and len(chunks[-1]) == 1
        after_comma = at > 0 and boxes[at - 1].closes
        if at == 0 or after_comma or (box.breakable and not after_sign):
            chunks.append([])
        chunks[-1].append(box)
    return chunks


def whole(x: float) -> int:
    """Return a size as whole pixels, rounded up."""
    return math.ceil(x)


@cache
def _font(points: float, italic: bool, bold: bool) -> QFont:
    font = QFont()
    font.setFamilies(_SERIFS)
    font.setStyleHint(QFont.StyleHint.Serif)
    font.setPointSizeF(points)
    font.setItalic(italic)
    font.setBold(bold)
    return font


@cache
def _em(points: float) -> float:
    return QFontMetricsF(_font(points, italic=False, bold=False)).height() * 0.86


@lru_cache(maxsize=4096)
def _measure(text: str, points: float, italic: bool, bold: bool) -> tuple[float, float, float]:
    """Return advance, top and bottom of the ink; measuring costs far more than looking up."""
    metrics = QFontMetricsF(_font(points, italic, bold))
    ink = metrics.tightBoundingRect(text)
    return metrics.horizontalAdvance(text), ink.top(), ink.bottom()
