"""What lies under the pointer in the picture, the nearest thing that can be taken hold of first."""

from __future__ import annotations

import math
from collections.abc import Iterator

from wayside.film.geometry import Point
from wayside.film.marks import FilmMarks
from wayside_app.window.film.moving import (
    FOOT,
    LINE,
    RULER_START,
    RULER_STOP,
    SPOT,
    TOP,
    Pick,
)
from wayside_app.window.film.painting import RING_PX
from wayside_app.window.film.view_map import ViewMap

REACH_PX = 11.0


def grip_at(
    marks: FilmMarks,
    view: ViewMap,
    x: float,
    y: float,
    picked: int,
    ring: Point | None,
) -> Pick | None:
    """Return what a press at a place in the view takes hold of.

    Parameters
    ----------
    marks : FilmMarks
    view : ViewMap
    x, y : float
        Place in the view (view pixels).
    picked : int
        The picked marker; its ends and its ring come first.
    ring : Point or None
        The picked marker's ring in this frame (film pixels).
    """
    if ring is not None and _away(view, ring, x, y) <= RING_PX + 4:
        return Pick(SPOT, picked)
    best: tuple[float, Pick] | None = None
    for distance, pick in _candidates(marks, view, x, y, picked):
        if distance <= REACH_PX and (best is None or distance < best[0]):
            best = distance, pick
    return None if best is None else best[1]


def _candidates(
    marks: FilmMarks, view: ViewMap, x: float, y: float, picked: int
) -> Iterator[tuple[float, Pick]]:
    if marks.ruler is not None:
        yield _away(view, marks.ruler.start, x, y), Pick(RULER_START)
        yield _away(view, marks.ruler.stop, x, y), Pick(RULER_STOP)
    for k, marker in enumerate(marks.markers):
        start, stop = marker.line.start, marker.line.stop
        if k == picked:
            # an end lies on its line, so it must win when both are as near
            yield _away(view, start, x, y) - 4, Pick(TOP, k)
            yield _away(view, stop, x, y) - 4, Pick(FOOT, k)
        yield _from_segment(view, start, stop, x, y), Pick(LINE, k)


def _away(view: ViewMap, point: Point, x: float, y: float) -> float:
    px, py = view.to_view(point)
    return math.hypot(px - x, py - y)


def _from_segment(view: ViewMap, start: Point, stop: Point, x: float, y: float) -> float:
    (ax, ay), (bx, by) = view.to_view(start), view.to_view(stop)
    dx, dy = bx - ax, by - ay
    length2 = dx * dx + dy * dy
    share = 0.0 if length2 == 0 else ((x - ax) * dx + (y - ay) * dy) / length2
    share = min(max(share, 0.0), 1.0)
    return math.hypot(ax + share * dx - x, ay + share * dy - y)
