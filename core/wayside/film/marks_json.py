"""Film marks as JSON values, for session files; strict when read."""

from __future__ import annotations

from typing import Any, NoReturn

from wayside.errors import InputError
from wayside.film.crossing import MARK_U_PX
from wayside.film.geometry import Line, Point
from wayside.film.marks import LINE_U_PX, Clap, FilmMarks, Marker, Ruler, Sighting, Typed

MOST_MARKERS = 50
LONGEST_TEXT = 1000
LARGEST = 1e9


def marks_to_json(marks: FilmMarks) -> dict[str, Any]:
    """Return marks as plain values."""
    clap, ruler = marks.clap, marks.ruler
    return {
        "markers": [_marker_to_json(m) for m in marks.markers],
        "watched": marks.watched,
        "true_fps": marks.true_fps,
        "clap": None
        if clap.blank
        else {
            "before_s": clap.before_s,
            "after_s": clap.after_s,
            "heard": _typed_to_json(clap.heard),
            "distance": _typed_to_json(clap.distance),
        },
        "ruler": None
        if ruler is None
        else {
            "ends_px": [ruler.start.x, ruler.start.y, ruler.stop.x, ruler.stop.y],
            "length": _typed_to_json(ruler.length),
        },
    }


def marks_from_json(data: Any) -> FilmMarks:
    """Return the marks in plain values; missing parts are blank.

    Raises
    ------
    InputError
        With one sentence on what is wrong.
    """
    whole = _group(data, "film")
    markers = whole.get("markers", [])
    if not isinstance(markers, list) or len(markers) > MOST_MARKERS:
        _wrong("film.markers", f"a list of at most {MOST_MARKERS} markers")
    clap, ruler = whole.get("clap"), whole.get("ruler")
    return FilmMarks(
        tuple(_marker(m, f"film.markers[{k}]") for k, m in enumerate(markers)),
        _text(whole.get("watched", ""), "film.watched"),
        _text(whole.get("true_fps", ""), "film.true_fps"),
        Clap() if clap is None else _clap(_group(clap, "film.clap")),
        None if ruler is None else _ruler(_group(ruler, "film.ruler")),
    )


def _marker_to_json(marker: Marker) -> dict[str, Any]:
    ends = marker.line
    return {
        "line_px": [ends.start.x, ends.start.y, ends.stop.x, ends.stop.y],
        "before": _sighting_to_json(marker.before),
        "after": _sighting_to_json(marker.after),
        "place": _typed_to_json(marker.place),
        "at_camera": marker.at_camera,
        "line_u_px": marker.line_u_px,
    }


def _sighting_to_json(sighting: Sighting | None) -> dict[str, Any] | None:
    if sighting is None:
        return None
    spot = sighting.spot
    return {
        "time_s": sighting.time_s,
        "spot_px": None if spot is None else [spot.x, spot.y],
        "spot_u_px": sighting.spot_u_px,
    }


def _typed_to_json(typed: Typed) -> dict[str, str]:
    return {"text": typed.text, "unit": typed.unit, "u": typed.u_text}


def _marker(data: Any, where: str) -> Marker:
    group = _group(data, where)
    at_camera = group.get("at_camera", False)
    if not isinstance(at_camera, bool):
        _wrong(f"{where}.at_camera", "true or false")
    start, stop = _ends(group.get("line_px"), f"{where}.line_px")
    return Marker(
        Line(start, stop),
        _sighting(group.get("before"), f"{where}.before"),
        _sighting(group.get("after"), f"{where}.after"),
        _typed(group.get("place"), f"{where}.place", "m"),
        at_camera,
        _spread(group.get("line_u_px", LINE_U_PX), f"{where}.line_u_px"),
    )


def _sighting(data: Any, where: str) -> Sighting | None:
    if data is None:
        return None
    group = _group(data, where)
    spot = group.get("spot_px")
    return Sighting(
        _numbers([group.get("time_s")], 1, f"{where}.time_s")[0],
        None if spot is None else Point(*_numbers(spot, 2, f"{where}.spot_px")),
        _spread(group.get("spot_u_px", MARK_U_PX), f"{where}.spot_u_px"),
    )


def _clap(group: dict[str, Any]) -> Clap:
    seen = [group.get(key) for key in ("before_s", "after_s")]
    before, after = (None if s is None else _numbers([s], 1, "film.clap")[0] for s in seen)
    return Clap(
        before,
        after,
        _typed(group.get("heard"), "film.clap.heard", "s"),
        _typed(group.get("distance"), "film.clap.distance", "m"),
    )


def _ruler(group: dict[str, Any]) -> Ruler:
    start, stop = _ends(group.get("ends_px"), "film.ruler.ends_px")
    return Ruler(start, stop, _typed(group.get("length"), "film.ruler.length", "m"))


def _ends(data: Any, where: str) -> tuple[Point, Point]:
    x1, y1, x2, y2 = _numbers(data, 4, where)
    return Point(x1, y1), Point(x2, y2)


def _typed(data: Any, where: str, unit: str) -> Typed:
    if data is None:
        return Typed(unit=unit)
    group = _group(data, where)
    text, u = (_text(group.get(key, ""), f"{where}.{key}") for key in ("text", "u"))
    return Typed(text, _text(group.get("unit", unit), f"{where}.unit"), u)


def _spread(data: Any, where: str) -> float:
    u = _numbers([data], 1, where)[0]
    if u <= 0:
        _wrong(where, "a number above 0")
    return u


def _numbers(data: Any, count: int, where: str) -> list[float]:
    fine = (
        isinstance(data, list)
        and len(data) == count
        and all(
            isinstance(x, int | float) and not isinstance(x, bool) and abs(x) < LARGEST
            for x in data
        )
    )
    if not fine:
        _wrong(where, "a number" if count == 1 else f"{count} numbers")
    return [float(x) for x in data]


def _group(data: Any, where: str) -> dict[str, Any]:
    if not isinstance(data, dict):
        _wrong(where, "a group in braces")
    return data


def _text(data: Any, where: str) -> str:
    if not isinstance(data, str) or len(data) > LONGEST_TEXT:
        _wrong(where, "text in quotes")
    return data


def _wrong(where: str, wanted: str) -> NoReturn:
    raise InputError(f"In it, {where} should be {wanted}.")
