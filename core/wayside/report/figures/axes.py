"""A rectangle with two axes; it turns values into places on the canvas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
import numpy.typing as npt

from wayside.report.figures.canvas import INK, QUIET, RULE, Canvas, Point, plain, ticks

FloatArray = npt.NDArray[np.float64]

_LEFT, _RIGHT, _BELOW = 66.0, 14.0, 44.0


@dataclass(frozen=True)
class Axes:
    """Where the axes lie and what they span.

    Parameters
    ----------
    canvas : Canvas
    left, top, width, height : float
        The rectangle (units).
    x, y : tuple of float
        What it spans: low and high.
    """

    canvas: Canvas
    left: float
    top: float
    width: float
    height: float
    x: tuple[float, float]
    y: tuple[float, float]

    @classmethod
    def across(
        cls,
        canvas: Canvas,
        top: float,
        height: float,
        x: tuple[float, float],
        y: tuple[float, float],
    ) -> Self:
        """Return axes over the canvas's whole width, with room for their numbers."""
        return cls(canvas, _LEFT, top, canvas.width - _LEFT - _RIGHT, height, x, y)

    def at(self, x: float, y: float) -> Point:
        """Return the place of a value; what lies outside goes to the edge."""
        return (
            self.left + self.width * _share(x, self.x),
            self.top + self.height * (1.0 - _share(y, self.y)),
        )

    def points(self, x: FloatArray, y: FloatArray) -> list[Point]:
        """Return the places of values within the rectangle, in order."""
        inside = (x >= self.x[0]) & (x <= self.x[1]) & (y >= self.y[0]) & (y <= self.y[1])
        return [self.at(float(a), float(b)) for a, b in zip(x[inside], y[inside], strict=True)]

    def band(self, x: FloatArray, low: FloatArray, high: FloatArray) -> list[Point]:
        """Return the outline of a band between two curves."""
        inside = (x >= self.x[0]) & (x <= self.x[1])
        there = [self.at(float(a), float(b)) for a, b in zip(x[inside], high[inside], strict=True)]
        back = [self.at(float(a), float(b)) for a, b in zip(x[inside], low[inside], strict=True)]
        return there + back[::-1]

    def draw(self, x_name: str, y_name: str, about: tuple[int, int] = (9, 7)) -> None:
        """Draw the rectangle, ticks with numbers, and the names of the axes."""
        c = self.canvas
        bottom = self.top + self.height
        for value in ticks(*self.x, about[0]):
            place = self.at(value, self.y[0])[0]
            c.line((place, bottom), (place, bottom + 5), QUIET)
            c.words((place, bottom + 18), plain(value), INK, "middle")
        for value in ticks(*self.y, about[1]):
            place = self.at(self.x[0], value)[1]
            c.line((self.left - 5, place), (self.left, place), QUIET)
            c.words((self.left - 8, place + 4.5), plain(value), INK, "end")
        c.box(self.left, self.top, self.width, self.height, edge=QUIET)
        c.words((self.left + 0.5 * self.width, bottom + _BELOW - 8), x_name, INK, "middle")
        c.words((15, self.top + 0.5 * self.height), y_name, INK, "middle", upright=False)

    def grid(self, about: tuple[int, int] = (9, 7)) -> None:
        """Draw thin lines at the ticks, for reading off by eye."""
        bottom, right = self.top + self.height, self.left + self.width
        for value in ticks(*self.x, about[0]):
            place = self.at(value, self.y[0])[0]
            self.canvas.line((place, self.top), (place, bottom), RULE, 0.6)
        for value in ticks(*self.y, about[1]):
            place = self.at(self.x[0], value)[1]
            self.canvas.line((self.left, place), (right, place), RULE, 0.6)


def _share(value: float, span: tuple[float, float]) -> float:
    return min(max((value - span[0]) / (span[1] - span[0]), 0.0), 1.0)
