"""Picture and sound on one clock: where each one's times lie on the other's."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wayside.errors import InputError
from wayside.film.clock import (
    UNKNOWN_LINK,
    ClockLink,
    PassingCheck,
    check_passing,
    link_from_clap,
    when_heard,
    when_seen,
)
from wayside.film.heard import crossing_heard
from wayside.film.marked import FilmReading, frame_of, typed_quantity
from wayside.film.marks import Clap, FilmMarks
from wayside.film.times import FrameTimes
from wayside.hand.units import Dimension
from wayside.quantity import Quantity

RETIMED = ClockLink(
    Quantity(0.0, float("inf"), "s"),
    "The film does not run at natural speed, so its picture and sound have no clock in common.",
)
APART = ClockLink(
    Quantity(0.0, float("inf"), "s"),
    "Picture and sound are from two recordings, so they have no clock in common until a clap that "
    "both show is entered.",
)


@dataclass(frozen=True)
class Heard:
    """The pass-by as the sound has it.

    Parameters
    ----------
    passing : Quantity
        When the source is at the closest point, on the sound track's clock (s).
    speed_mps, closest_m : Quantity
    """

    passing: Quantity
    speed_mps: Quantity
    closest_m: Quantity


@dataclass(frozen=True)
class Together:
    """What picture and sound say of each other.

    Parameters
    ----------
    link : ClockLink
        Between the two clocks.
    clap_fault : str
        Why the clap cannot be used, or what it still needs; empty if it is used or blank.
    passing_seen : Quantity or None
        When the passing found in the sound is seen in the film (s).
    heard : tuple of (Quantity or None)
        When each marker's crossing is heard on the sound track (s), its way included.
    check : PassingCheck or None
        Film against sound, if a marker stands straight in front of the camera.
    """

    link: ClockLink
    clap_fault: str
    passing_seen: Quantity | None
    heard: tuple[Quantity | None, ...]
    check: PassingCheck | None


def put_together(
    marks: FilmMarks,
    reading: FilmReading,
    times: FrameTimes,
    heard: Heard | None,
    sound_speed_mps: Quantity,
    taped_m: Quantity | None = None,
    apart: bool = False,
) -> Together:
    """Work out what picture and sound say of each other.

    Parameters
    ----------
    marks : FilmMarks
    reading : FilmReading
        Read from the same marks.
    times : FrameTimes
    heard : Heard or None
        None while no pass-by was found in the sound.
    sound_speed_mps : Quantity
    taped_m : Quantity, optional
        Taped distance from the microphone to the track (m).
    apart : bool
        True when picture and sound are from two recordings.
    """
    if reading.clock.factor != 1.0:
        return Together(RETIMED, "", None, tuple(None for _ in marks.markers), None)
    link, fault = read_clap(marks.clap, sound_speed_mps, times)
    if apart and link is UNKNOWN_LINK:
        return Together(APART, fault, None, tuple(None for _ in marks.markers), None)
    passing = None if heard is None else when_seen(heard.passing, link)
    later: list[Quantity | None] = []
    check = None
    for marker, told in zip(marks.markers, reading.markers, strict=True):
        crossing = told.crossing
        if crossing is None:
            later.append(None)
            continue
        if heard is not None and marker.at_camera:
            check = check_passing(crossing.time, heard.passing, link)
        later.append(
            _heard_at(crossing.time, marker.at_camera, heard, taped_m, sound_speed_mps, link)
        )
    return Together(link, fault, passing, tuple(later), check)


def read_clap(
    clap: Clap, sound_speed_mps: Quantity, times: FrameTimes | None = None
) -> tuple[ClockLink, str]:
    """Return the link that a clap gives, or the unknown one and why.

    Parameters
    ----------
    clap : Clap
    sound_speed_mps : Quantity
    times : FrameTimes, optional
        Of the film, to make sure that the clap was marked in it.
    """
    if clap.blank:
        return UNKNOWN_LINK, ""
    if clap.before_s is None or clap.after_s is None:
        return UNKNOWN_LINK, "Still needed: the two frames around the clap."
    if clap.heard.blank or clap.distance.blank:
        return UNKNOWN_LINK, "Still needed: when the clap is heard, and how far it was."
    try:
        seen = _clap_seen(clap.before_s, clap.after_s, times)
        told = typed_quantity(clap.heard, Dimension.TIME, "the time heard")
        distance = typed_quantity(clap.distance, Dimension.LENGTH, "the distance of the clap")
        return link_from_clap(seen, told, distance, sound_speed_mps), ""
    except InputError as error:
        return UNKNOWN_LINK, str(error)


def _clap_seen(before_s: float, after_s: float, times: FrameTimes | None) -> Quantity:
    if times is not None:
        frame_of(before_s, times)
        frame_of(after_s, times)
    if before_s >= after_s:
        raise InputError(
            "The hands are together before they are apart; mark the two frames of the clap again."
        )
    middle, width = (before_s + after_s) / 2, after_s - before_s
    return Quantity(middle, width / math.sqrt(12.0), "s")


def _heard_at(
    seen: Quantity,
    at_camera: bool,
    heard: Heard | None,
    taped_m: Quantity | None,
    sound_speed_mps: Quantity,
    link: ClockLink,
) -> Quantity | None:
    if heard is not None:
        return crossing_heard(
            seen, heard.passing, heard.speed_mps, heard.closest_m, sound_speed_mps, link
        )
    if at_camera and taped_m is not None:
        return when_heard(seen, taped_m, sound_speed_mps, link)
    return None
