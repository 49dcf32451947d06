"""Lines and points in the picture, and the scale from a known length.

Pictures are measured in pixels from the top left corner of the picture as shown, x to the
right and y down; pixel i covers i to i + 1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wayside.errors import InputError
from wayside.quantity import Quantity

SHORTEST_PX = 2.0
PERSPECTIVE_CAUTION = (
    "A scale holds only in the plane in which the known length stands, seen square-on: 5 % "
    "nearer or farther is 5 % too large or small, and the edges of a wide lens differ from its "
    "middle. Prefer the taped distance between ground markers."
)


@dataclass(frozen=True)
class Point:
    """A point in the picture (pixels)."""

    x: float
    y: float


@dataclass(frozen=True)
class Line:
    """A marker line through two points of the picture, straight or tilted.

    Parameters
    ----------
    start, stop : Point
        Its ends (pixels), at least `SHORTEST_PX` apart.
    """

    start: Point
    stop: Point

    def __post_init__(self) -> None:
        values = (self.start.x, self.start.y, self.stop.x, self.stop.y)
        if not all(math.isfinite(v) for v in values):
            raise InputError("A marker line needs four numbers, x1,y1,x2,y2, in pixels.")
        if self.length_px < SHORTEST_PX:
            raise InputError(
                f"The marker line is only {self.length_px:.2g} pixels long; draw it along the "
                f"marker, at least {SHORTEST_PX:g} pixels."
            )

    @property
    def length_px(self) -> float:
        """Its length (pixels)."""
        return math.hypot(self.stop.x - self.start.x, self.stop.y - self.start.y)

    @property
    def normal(self) -> tuple[float, float]:
        """Unit vector across the line, to the left when looking from start to stop."""
        dx, dy = self.stop.x - self.start.x, self.stop.y - self.start.y
        return dy / self.length_px, -dx / self.length_px

    def distance_px(self, point: Point) -> float:
        """Signed distance of a point from the (endless) line (pixels).

        For a line drawn downwards, points to its left are negative, to its right positive.
        """
        nx, ny = self.normal
        return (point.x - self.start.x) * nx + (point.y - self.start.y) * ny

    @classmethod
    def vertical(cls, x: float, top: float, bottom: float) -> Line:
        """Return an upright line at `x`."""
        return cls(Point(x, top), Point(x, bottom))

    @classmethod
    def parse(cls, text: str) -> Line:
        """Read ``"x1,y1,x2,y2"``.

        Raises
        ------
        InputError
            Not four numbers, or too short a line.
        """
        parts = text.replace(";", ",").split(",")
        try:
            x1, y1, x2, y2 = (float(part) for part in parts)
        except ValueError:
            raise InputError(
                f"“{text}” is not a marker line; give four numbers in pixels, x1,y1,x2,y2, for "
                f"example 320,100,320,400."
            ) from None
        return cls(Point(x1, y1), Point(x2, y2))

    def __str__(self) -> str:
        return f"{self.start.x:g},{self.start.y:g},{self.stop.x:g},{self.stop.y:g}"


@dataclass(frozen=True)
class Scale:
    """Metres a pixel, good only in the plane of the known length.

    Parameters
    ----------
    metres_per_px : Quantity
    caution : str
        What a reader must know before using it.
    """

    metres_per_px: Quantity
    caution: str = PERSPECTIVE_CAUTION

    def length(self, start: Point, stop: Point, mark_u_px: float = 1.0) -> Quantity:
        """Return the length between two marked points (m)."""
        px = math.hypot(stop.x - start.x, stop.y - start.y)
        metres = px * self.metres_per_px.value
        u_px = math.sqrt(2.0) * mark_u_px * self.metres_per_px.value
        return Quantity(metres, math.hypot(u_px, px * self.metres_per_px.u), "m")


def scale_from_length(
    known_m: Quantity, start: Point, stop: Point, mark_u_px: float = 1.0
) -> Scale:
    """Work out the scale from a known length.

    Parameters
    ----------
    known_m : Quantity
        The length (m), > 0.
    start, stop : Point
        Its ends as marked in the picture.
    mark_u_px : float
        Standard uncertainty of each mark (pixels).

    Raises
    ------
    InputError
        Length not positive, or the marks too close together.
    """
    px = math.hypot(stop.x - start.x, stop.y - start.y)
    if not known_m.value > 0:
        raise InputError("The known length must be above 0 m.")
    if not px > 4 * mark_u_px:
        raise InputError(
            "The ends of the known length are too close together in the picture; choose a longer "
            "one."
        )
    value = known_m.value / px
    relative = math.hypot(known_m.u / known_m.value, math.sqrt(2.0) * mark_u_px / px)
    return Scale(Quantity(value, value * relative, "m/px"))
