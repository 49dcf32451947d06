"""What follows from the marks: crossings, speed, true time, scale; and what is still missing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wayside.errors import InputError
from wayside.film.crossing import Crossing, crossing_between, crossing_interpolated
from wayside.film.geometry import Point, Scale, scale_from_length
from wayside.film.info import FilmInfo
from wayside.film.marks import FilmMarks, Marker, Sighting, Typed
from wayside.film.readout import readout_u_s
from wayside.film.retime import AS_FILMED, Retiming, retiming
from wayside.film.segments import SpeedResult, speeds
from wayside.film.times import FrameTimes
from wayside.hand.units import SI_SYMBOL, Dimension, find_unit
from wayside.quantity import Quantity
from wayside.session.typed import read_number

_ORIGIN = Quantity(0.0, 0.0, "m")


@dataclass(frozen=True)
class MarkerReading:
    """What one marker tells.

    Parameters
    ----------
    crossing : Crossing or None
        On the film's clock.
    missing : tuple of str
        Which of ``"before"`` and ``"after"`` is not marked yet.
    fault : str
        Why its marks cannot be used; empty if they can.
    place : Quantity or None
        Along the track from the first marker (m).
    place_fault : str
        Why the typed place cannot be used; empty if it can, or was not typed.
    """

    crossing: Crossing | None
    missing: tuple[str, ...]
    fault: str
    place: Quantity | None
    place_fault: str


@dataclass(frozen=True)
class FilmReading:
    """What all marks of a film tell together.

    Parameters
    ----------
    markers : tuple of MarkerReading
    clock : Retiming
        From film time to true time.
    clock_fault : str
        Why the typed true rate cannot be used; empty if it can.
    readout_u_s : float
        Standard uncertainty of the time from the first to the last crossing that comes from
        reading the sensor row by row (s).
    speed : SpeedResult or None
    speed_fault : str
        Why the crossings give no speed although there are enough of them; else empty.
    scale : Scale or None
    scale_fault : str
        Why the known length cannot be used; empty if it can, or is blank.
    """

    markers: tuple[MarkerReading, ...]
    clock: Retiming
    clock_fault: str
    readout_u_s: float
    speed: SpeedResult | None
    speed_fault: str
    scale: Scale | None
    scale_fault: str

    @property
    def complete(self) -> tuple[int, ...]:
        """Markers with a crossing, in order of time."""
        timed = [(m.crossing.time.value, k) for k, m in enumerate(self.markers) if m.crossing]
        return tuple(k for _, k in sorted(timed))


def read_marks(
    marks: FilmMarks, info: FilmInfo, marker_distance: Quantity | None = None
) -> FilmReading:
    """Work out everything the marks tell.

    Parameters
    ----------
    marks : FilmMarks
    info : FilmInfo
        Of the film they were made in.
    marker_distance : Quantity, optional
        Taped distance from the first to the last crossing (m), for a place that was not typed.
    """
    crossings = [_read_crossing(marker, info.times) for marker in marks.markers]
    far = far_marker(marks, [crossing for crossing, _ in crossings])
    markers = []
    for k, (marker, (crossing, fault)) in enumerate(zip(marks.markers, crossings, strict=True)):
        missing = tuple(name for name in ("before", "after") if marker.sighting(name) is None)
        place, place_fault = _read_place(k, marker, marker_distance if k == far else None)
        markers.append(MarkerReading(crossing, missing, fault, place, place_fault))
    clock, clock_fault = _read_clock(marks.true_fps, info.times)
    readout = _readout(marks.markers, markers, info)
    speed, speed_fault = _read_speed(markers, clock, readout)
    scale, scale_fault = _read_scale(marks)
    return FilmReading(
        tuple(markers), clock, clock_fault, readout, speed, speed_fault, scale, scale_fault
    )


def far_marker(marks: FilmMarks, crossings: Sequence[Crossing | None]) -> int | None:
    """Return the marker whose place the taped distance gives.

    It is the other end of the stretch that begins or ends at the first marker; of two markers
    the second, crossed or not. None if there is no such marker.
    """
    if len(marks.markers) == 2:
        return 1
    timed = sorted((c.time.value, k) for k, c in enumerate(crossings) if c is not None)
    order = [k for _, k in timed]
    if len(order) < 2 or 0 not in (order[0], order[-1]):
        return None
    return order[-1] if order[0] == 0 else order[0]


def first_and_last(reading: FilmReading) -> tuple[Quantity, Quantity] | None:
    """Return the true times of the first and the last crossing (s); None with fewer than two.

    Their difference carries the readout's part; the relative uncertainty of a retimed clock is
    left to whoever uses both, as they share it.
    """
    order = reading.complete
    if len(order) < 2:
        return None
    first, last = (_true(reading.markers[k].crossing, reading.clock) for k in (order[0], order[-1]))
    share = reading.readout_u_s / reading.clock.factor / math.sqrt(2.0)
    return (
        Quantity(first.value, math.hypot(first.u, share), "s"),
        Quantity(last.value, math.hypot(last.u, share), "s"),
    )


def taped_distance(reading: FilmReading) -> Quantity | None:
    """Return the distance from the first to the last crossing's marker (m), if both are known."""
    order = reading.complete
    if len(order) < 2:
        return None
    a, b = (reading.markers[k].place for k in (order[0], order[-1]))
    if a is None or b is None:
        return None
    return Quantity(abs(b.value - a.value), math.hypot(a.u, b.u), "m")


def distance_by_scale(marks: FilmMarks, scale: Scale) -> list[Quantity]:
    """Return how far each marker's foot is from the first one's, by the scale (m)."""
    feet = [max((m.line.start, m.line.stop), key=lambda end: end.y) for m in marks.markers]
    spread = max((m.line_u_px for m in marks.markers), default=1.0)
    return [scale.length(feet[0], foot, spread) for foot in feet]


def crossing_of(marker: Marker, times: FrameTimes) -> Crossing | None:
    """Return a marker's crossing; None while a frame is missing.

    Raises
    ------
    InputError
        The marks contradict each other or belong to another film.
    """
    if marker.before is None or marker.after is None:
        return None
    before, after = (frame_of(s.time_s, times) for s in (marker.before, marker.after))
    spots = _spots(marker.before, marker.after)
    if spots is None:
        return crossing_between(times, before, after)
    spread = max(marker.before.spot_u_px, marker.after.spot_u_px)
    return crossing_interpolated(
        times, before, after, marker.line, spots, spread, marker.line_u_px
    )  # fmt: skip


def frame_of(time_s: float, times: FrameTimes) -> int:
    """Return the frame that has this presentation time.

    Raises
    ------
    InputError
        No frame of the film does.
    """
    index = times.nearest(time_s)
    if abs(float(times.seconds[index]) - time_s) > max(0.25 * times.typical_step_s, 1e-3):
        raise InputError(
            f"This film has no frame at the marked time, {time_s:.3f} s: mark the crossing again, "
            f"or open the film it was marked in."
        )
    return index


def typed_quantity(typed: Typed, dimension: Dimension, what: str) -> Quantity:
    """Return a typed number with its uncertainty in SI.

    Raises
    ------
    InputError
        It is not usable; `what` names it in the sentence.
    """
    unit = find_unit(dimension, typed.unit)
    if unit is None:
        raise InputError(f"The unit of {what}, “{typed.unit}”, is not known; choose one.")
    try:
        value = read_number(typed.text)
        spread = read_number(typed.u_text) if typed.u_text.strip() else None
    except ValueError as error:
        raise InputError(str(error)) from None
    if spread is None:
        raise InputError(f"Say after ± how far {what} may typically be off.")
    if spread < 0:
        raise InputError("An uncertainty cannot be negative; type how far off it may be.")
    return Quantity(unit.to_si(value), unit.u_to_si(spread), SI_SYMBOL[dimension])


def _spots(before: Sighting, after: Sighting) -> tuple[Point, Point] | None:
    if before.spot is None or after.spot is None:
        return None
    return before.spot, after.spot


def _read_crossing(marker: Marker, times: FrameTimes) -> tuple[Crossing | None, str]:
    try:
        return crossing_of(marker, times), ""
    except InputError as error:
        return None, str(error)


def _read_place(
    number: int, marker: Marker, distance: Quantity | None
) -> tuple[Quantity | None, str]:
    if number == 0:
        return _ORIGIN, ""
    if marker.place.blank:
        return distance, ""
    try:
        return typed_quantity(marker.place, Dimension.LENGTH, "the place"), ""
    except InputError as error:
        return None, str(error)


def _read_clock(text: str, times: FrameTimes) -> tuple[Retiming, str]:
    if not text.strip():
        return AS_FILMED, ""
    try:
        return retiming(times, read_number(text)), ""
    except ValueError as error:
        return AS_FILMED, str(error)


def _readout(marks: Sequence[Marker], readings: Sequence[MarkerReading], info: FilmInfo) -> float:
    across = [
        (m.line.start.x + m.line.stop.x) / 2
        for m, r in zip(marks, readings, strict=True)
        if r.crossing
    ]
    if len(across) < 2:
        return 0.0
    return readout_u_s(min(across), max(across), info.width, info.height)


def _read_speed(
    markers: Sequence[MarkerReading], clock: Retiming, readout: float
) -> tuple[SpeedResult | None, str]:
    usable = [(m.crossing, m.place) for m in markers if m.crossing and m.place]
    if len(usable) < 2:
        return None, ""
    times = [_true(crossing, clock) for crossing, _ in usable]
    span = max(t.value for t in times) - min(t.value for t in times)
    # The readout tilts the clock along the track, which stretches all segments alike.
    tilt = readout / clock.factor / span if span > 0 else 0.0
    try:
        return (
            speeds(
                times,
                [place for _, place in usable],
                scale_relative_u=math.hypot(clock.relative_u, tilt),
            ),
            "",
        )
    except InputError as error:
        return None, str(error)


def _true(crossing: Crossing | None, clock: Retiming) -> Quantity:
    assert crossing is not None
    return Quantity(crossing.time.value / clock.factor, crossing.time.u / clock.factor, "s")


def _read_scale(marks: FilmMarks) -> tuple[Scale | None, str]:
    ruler = marks.ruler
    if ruler is None or ruler.length.blank:
        return None, ""
    try:
        known = typed_quantity(ruler.length, Dimension.LENGTH, "the known length")
        return scale_from_length(known, ruler.start, ruler.stop), ""
    except InputError as error:
        return None, str(error)
