"""The track from above, to one scale in both directions."""

from __future__ import annotations

from dataclasses import dataclass

from wayside.hand import digits
from wayside.hand.sections import MARKER_DISTANCE, MICROPHONE_DISTANCE, MICROPHONE_POSITION
from wayside.hand.setup import Setup
from wayside.quantity import Quantity
from wayside.report.figures.canvas import (
    HAND,
    INK,
    LETTER,
    QUIET,
    SOUND,
    Canvas,
    Figure,
    nice_step,
)

_SIDE, _TOP = 40.0, 66.0
_MOST_DOWN, _LEAST_DOWN = 150.0, 40.0
_RUN = 2.5
_PLAIN_RUN_M = 3.0
_SMALLEST_M = 0.2


@dataclass(frozen=True)
class Place:
    """Where everything stands (m), along the track from the first marker.

    Parameters
    ----------
    markers_m : float or None
        Distance between the markers.
    microphone_m : float
        The point in front of the microphone.
    position_known : bool
        False when that point was not measured and is only drawn half-way.
    taped_m, heard_m : float or None
        Closest distance by hand and by sound.
    """

    markers_m: float | None
    microphone_m: float
    position_known: bool
    taped_m: float | None
    heard_m: float | None


def place_of(setup: Setup, closest: Quantity | None) -> Place | None:
    """Return where things stand, or None if the set-up describes no straight track.

    Parameters
    ----------
    setup : Setup
    closest : Quantity or None
        Closest distance by sound (m).
    """
    if not setup.kind.uses_motion:
        return None
    known = {
        field.path: field.si(setup.entries[field.path])
        for field in (MARKER_DISTANCE, MICROPHONE_DISTANCE, MICROPHONE_POSITION)
        if field.path in setup.entries
    }
    markers = known.get(MARKER_DISTANCE.path)
    position = known.get(MICROPHONE_POSITION.path)
    heard = closest.value if closest is not None else None
    taped = known.get(MICROPHONE_DISTANCE.path)
    if markers is None and taped is None and heard is None:
        return None
    middle = 0.5 * (markers or 0.0)
    return Place(
        markers, middle if position is None else position, position is not None, taped, heard
    )


def track_figure(setup: Setup, closest: Quantity | None, name: str = "track") -> Figure | None:
    """Return the picture of the track, or None where there is nothing to draw.

    Parameters
    ----------
    setup : Setup
    closest : Quantity or None
        Closest distance by sound (m), drawn in blue beside the taped one.
    name : str
        File name without its ending.
    """
    place = place_of(setup, closest)
    if place is None:
        return None
    deep = max(place.taped_m or 0.0, place.heard_m or 0.0)
    run = max(_RUN * deep, _SMALLEST_M) if deep else _PLAIN_RUN_M
    low = min(0.0, place.microphone_m - run)
    high = max(place.markers_m or 0.0, place.microphone_m + run)
    width = Canvas(name, 1.0).width - 2.0 * _SIDE
    scale = width / (high - low)
    if deep * scale > _MOST_DOWN:
        scale = _MOST_DOWN / deep
    half_spare = 0.5 * (width - scale * (high - low))
    down = max(deep * scale, _LEAST_DOWN)
    canvas = Canvas(name, _TOP + down + 78.0)

    def x(metres: float) -> float:
        return _SIDE + half_spare + (metres - low) * scale

    canvas.line((x(low), _TOP), (x(high), _TOP), INK, 2.2)
    tip = (x(high), _TOP)
    canvas.path([(tip[0] - 11, tip[1] - 6), tip, (tip[0] - 11, tip[1] + 6)], INK, 2.2)
    canvas.words((x(high), _TOP - 14), "direction of travel", INK, "end")
    if place.markers_m is not None:
        _markers(canvas, x(0.0), x(place.markers_m), _as_entered(setup, MARKER_DISTANCE.path))
    _microphone(canvas, setup, place, x(place.microphone_m), scale, closest)
    _scale_bar(canvas, scale)
    return canvas.done("The track from above, to scale", _description(setup, place, closest))


def _markers(canvas: Canvas, left: float, right: float, label: str) -> None:
    for x, text in ((left, "1"), (right, "2")):
        canvas.line((x, _TOP - 13), (x, _TOP + 13), HAND, 4.0)
        canvas.words((x, _TOP + 29), f"marker {text}", HAND, "middle")
    y = _TOP - 34
    canvas.line((left, y), (right, y), HAND, 1.2, "9 6")
    for x in (left, right):
        canvas.line((x, y - 5), (x, y + 5), HAND, 1.2)
    canvas.words((0.5 * (left + right), y - 7), label, HAND, "middle")


def _microphone(
    canvas: Canvas,
    setup: Setup,
    place: Place,
    x: float,
    scale: float,
    closest: Quantity | None,
) -> None:
    labels = []
    if place.taped_m is not None:
        y = _TOP + place.taped_m * scale
        canvas.line((x - 4, _TOP), (x - 4, y), HAND, 1.4, "9 6")
        canvas.dot((x - 4, y), 6.0, HAND, hollow=True)
        text = f"microphone, {_as_entered(setup, MICROPHONE_DISTANCE.path)} by hand"
        labels.append((y, text, HAND))
    if place.heard_m is not None and closest is not None:
        y = _TOP + place.heard_m * scale
        canvas.line((x + 4, _TOP), (x + 4, y), SOUND, 1.4)
        canvas.dot((x + 4, y), 4.5, SOUND)
        labels.append((y, f"{digits.full_text(closest)} by sound", SOUND))
    if not labels:
        y = _TOP + _LEAST_DOWN
        canvas.dot((x, y), 5.0, QUIET, hollow=True)
        labels.append((y, "microphone; its distance was not measured", QUIET))
    lowest = max(y for y, _, _ in labels)
    right = x + 16 + LETTER * max(len(text) for _, text, _ in labels) < canvas.width
    at, anchor = (x + 16, "start") if right else (x - 16, "end")
    first = lowest + 5 - 17 * (len(labels) - 1)
    for k, (_, text, colour) in enumerate(labels):
        canvas.words((at, max(first, _TOP + 46) + 17 * k), text, colour, anchor)
    if not place.position_known and place.markers_m is not None:
        text = "(its place along the track was not measured and is drawn half-way)"
        canvas.words((_SIDE, canvas.height - 30), text, QUIET, size=11.5)


def _scale_bar(canvas: Canvas, scale: float) -> None:
    metres = nice_step(120.0 / scale, 1)
    y = canvas.height - 12
    canvas.line((_SIDE, y), (_SIDE + metres * scale, y), INK, 3.0)
    canvas.words((_SIDE + metres * scale + 8, y + 4), f"{metres:g} m", INK)


def _as_entered(setup: Setup, path: str) -> str:
    i = next(i for i in setup.inputs if i.path == path)
    own = Quantity(i.unit.from_si(i.value), i.unit.u_from_si(i.u), i.unit.symbol)
    return digits.with_unit(own)


def _description(setup: Setup, place: Place, closest: Quantity | None) -> str:
    parts = ["A straight track seen from above, the source moving to the right."]
    if place.markers_m is not None:
        parts.append(f"Two markers stand {_as_entered(setup, MARKER_DISTANCE.path)} apart.")
    if place.taped_m is not None:
        taped = _as_entered(setup, MICROPHONE_DISTANCE.path)
        parts.append(f"The microphone stands {taped} from the track, measured by hand.")
    if closest is not None:
        parts.append(f"By sound it stands {digits.full_text(closest)} from it.")
    return " ".join(parts)
