"""What can be moved on the picture, and the marks after it was moved."""

from __future__ import annotations

from dataclasses import dataclass, replace

from wayside.errors import InputError
from wayside.film.geometry import Line, Point
from wayside.film.marks import FilmMarks

LINE, TOP, FOOT, SPOT = "line", "top", "foot", "spot"
RULER_START, RULER_STOP = "ruler start", "ruler stop"


@dataclass(frozen=True)
class Pick:
    """What the keyboard moves: a part of a marker, of its crossing, or of the ruler.

    Parameters
    ----------
    part : str
        `LINE`, `TOP`, `FOOT` or `SPOT` of a marker, or `RULER_START` or `RULER_STOP`.
    marker : int
        Number of the marker from 0; -1 for the ruler.
    """

    part: str
    marker: int = -1


def moved_marks(
    marks: FilmMarks,
    pick: Pick,
    by: tuple[float, float],
    size: tuple[int, int],
    spread_px: float,
) -> FilmMarks:
    """Return the marks with one part moved, as far as it stays inside the picture.

    Parameters
    ----------
    marks : FilmMarks
    pick : Pick
        What is moved.
    by : tuple of float
        How far, right and down (film pixels).
    size : tuple of int
        Width and height of the picture (film pixels).
    spread_px : float
        Standard uncertainty of where a line is put (film pixels).
    """
    if pick.marker < 0:
        return _moved_ruler(marks, pick.part, by, size)
    marker = marks.markers[pick.marker]
    ends = [marker.line.start, marker.line.stop]
    moving = {TOP: (0,), FOOT: (1,)}.get(pick.part, (0, 1))
    dx, dy = _kept_inside([ends[k] for k in moving], by, size)
    for k in moving:
        ends[k] = Point(ends[k].x + dx, ends[k].y + dy)
    try:
        line = Line(*ends)
    except InputError:
        return marks
    if line == marker.line:
        return marks
    return marks.with_marker(pick.marker, replace(marker, line=line, line_u_px=spread_px))


def _moved_ruler(
    marks: FilmMarks, part: str, by: tuple[float, float], size: tuple[int, int]
) -> FilmMarks:
    ruler = marks.ruler
    if ruler is None:
        return marks
    end = ruler.start if part == RULER_START else ruler.stop
    dx, dy = _kept_inside([end], by, size)
    moved = Point(end.x + dx, end.y + dy)
    if part == RULER_START:
        return replace(marks, ruler=replace(ruler, start=moved))
    return replace(marks, ruler=replace(ruler, stop=moved))


def _kept_inside(
    points: list[Point], by: tuple[float, float], size: tuple[int, int]
) -> tuple[float, float]:
    kept = []
    for step, room, places in zip(
        by, size, ([p.x for p in points], [p.y for p in points]), strict=True
    ):
        low, high = -min(places), room - max(places)
        kept.append(min(max(step, low), high) if low <= high else step)
    return kept[0], kept[1]
