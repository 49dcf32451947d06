"""The time at which a point of the vehicle crosses a marker line, with its uncertainty.

Between the last frame before (time a) and the first frame after (time b) nothing is seen, so
every moment is equally likely: t = (a + b)/2, u = (b - a)/sqrt(12) (JCGM 100:2008, 4.3.7).
When the point's distances from the line, p < 0 < q, are marked in both frames, uniform motion
between them gives t = a + (b - a) (-p)/(q - p).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wayside.errors import InputError
from wayside.film.geometry import Line, Point
from wayside.film.times import FrameTimes
from wayside.quantity import Quantity

MARK_U_PX = 1.5
SAME_POINT = (
    "Use the same point of the vehicle at every marker (for example the front of the front "
    "tyre, or the axle): a change of point is a change of distance."
)


@dataclass(frozen=True)
class Crossing:
    """One crossing of a marker line, on the film's clock.

    Parameters
    ----------
    time : Quantity
        When (s).
    before_s, after_s : float
        Times of the last frame before and the first frame after (s).
    method : {"between frames", "interpolated"}
    note : str
        One sentence worth knowing, or ``""``.
    """

    time: Quantity
    before_s: float
    after_s: float
    method: str
    note: str = ""


def crossing_between(times: FrameTimes, before: int, after: int) -> Crossing:
    """Return the crossing between two frames.

    Parameters
    ----------
    times : FrameTimes
    before, after : int
        The last frame before and the first frame after the crossing.

    Raises
    ------
    InputError
        The frames are out of order or not in the film.
    """
    a, b = _pair(times, before, after)
    u = math.hypot((b - a) / math.sqrt(12.0), times.tick_u_s)
    return Crossing(Quantity((a + b) / 2, u, "s"), a, b, "between frames", _wide(times, a, b))


def crossing_interpolated(
    times: FrameTimes,
    before: int,
    after: int,
    line: Line,
    marks: tuple[Point, Point],
    mark_u_px: float = MARK_U_PX,
    line_u_px: float = 0.0,
) -> Crossing:
    """Return the crossing interpolated between two marked positions of the same point.

    Parameters
    ----------
    times : FrameTimes
    before, after : int
        The frames in which the point was marked, one on each side of the line.
    line : Line
        The marker.
    marks : tuple of Point
        The point in frame `before` and in frame `after`.
    mark_u_px : float
        Standard uncertainty of each mark across the line (pixels).
    line_u_px : float
        Standard uncertainty of the line's place (pixels).

    Raises
    ------
    InputError
        Both marks lie on the same side, or the frames are out of order.
    """
    a, b = _pair(times, before, after)
    p, q = (line.distance_px(mark) for mark in marks)
    if p > 0 or (p == 0 and q < 0):
        p, q = -p, -q
    if p * q > 0 or p == q:
        raise InputError(
            "Both marked positions lie on the same side of the marker line; mark the point once "
            "before and once after it."
        )
    path = q - p
    share = -p / path
    u_marks = mark_u_px * math.hypot(p, q) / path**2
    u_interpolated = (b - a) * math.hypot(u_marks, line_u_px / path)
    u_frames = (b - a) / math.sqrt(12.0)
    if u_interpolated >= u_frames:
        plain = crossing_between(times, before, after)
        return Crossing(
            plain.time, a, b, plain.method,
            "The two marks are too close together to tell more than the frames do.",
        )  # fmt: skip
    u = math.hypot(u_interpolated, times.tick_u_s)
    return Crossing(Quantity(a + share * (b - a), u, "s"), a, b, "interpolated")


def _pair(times: FrameTimes, before: int, after: int) -> tuple[float, float]:
    n = len(times)
    if not (0 <= before < n and 0 <= after < n):
        raise InputError(f"The film has frames 0 to {n - 1}; choose the crossing within them.")
    if before >= after:
        raise InputError(
            f"The frame after the crossing ({after}) must be later than the frame before it "
            f"({before})."
        )
    return float(times.seconds[before]), float(times.seconds[after])


def _wide(times: FrameTimes, a: float, b: float) -> str:
    if b - a > 1.75 * times.typical_step_s:
        return f"Frames are missing here: {1e3 * (b - a):.0f} ms pass between the two."
    return ""
