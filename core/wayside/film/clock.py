"""One clock for picture and sound: the offset between them, and how sure it is.

An event at distance r seen at film time t is heard on the sound track at t + r/c + o, where o
is by how much the sound track lags the picture. The container's own start times (edit lists,
encoder delay) are already in both times; o is what they do not tell.

Without a common event o is taken as 0 with the standard uncertainty of the span that broadcast
practice accepts, sound 90 ms early to 185 ms late (ITU-R BT.1359-1): a rectangular span of
275 ms about a middle of 47.5 ms that is not corrected for, so u^2 = 275^2/12 + 47.5^2 ms^2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wayside.errors import InputError
from wayside.quantity import Quantity

EARLY_S, LATE_S = 0.090, 0.185
UNKNOWN_OFFSET_U_S = math.hypot((EARLY_S + LATE_S) / math.sqrt(12.0), (LATE_S - EARLY_S) / 2)
CLAP_ADVICE = (
    "Picture and sound of a phone may be apart by a tenth of a second. To know better, film one "
    "hand clap at a known distance and enter it."
)


@dataclass(frozen=True)
class ClockLink:
    """How the sound track's time follows from the picture's.

    Parameters
    ----------
    offset : Quantity
        By how much the sound lags the picture, travel time apart (s).
    basis : str
        One sentence: where the offset is from.
    """

    offset: Quantity
    basis: str


UNKNOWN_LINK = ClockLink(
    Quantity(0.0, UNKNOWN_OFFSET_U_S, "s"),
    "No common event was entered: sound and picture are taken as the file places them, to within "
    f"{1e3 * UNKNOWN_OFFSET_U_S:.0f} ms.",
)


def link_from_clap(
    seen: Quantity, heard: Quantity, distance_m: Quantity, sound_speed_mps: Quantity
) -> ClockLink:
    """Return the link from one sharp event that is both seen and heard.

    Parameters
    ----------
    seen : Quantity
        Film time of the event (s), e.g. from `wayside.film.crossing.crossing_between`.
    heard : Quantity
        Time of its sound on the sound track's clock (s).
    distance_m : Quantity
        From the event to the microphone (m).
    sound_speed_mps : Quantity

    Raises
    ------
    InputError
        The distance is negative or the sound speed not positive.
    """
    travel = sound_travel(distance_m, sound_speed_mps)
    value = heard.value - seen.value - travel.value
    u = math.hypot(seen.u, heard.u, travel.u)
    return ClockLink(Quantity(value, u, "s"), "From the clap that was entered.")


def sound_travel(distance_m: Quantity, sound_speed_mps: Quantity) -> Quantity:
    """Return how long sound takes over a distance (s).

    Raises
    ------
    InputError
        The distance is negative or the sound speed not positive.
    """
    if distance_m.value < 0 or not sound_speed_mps.value > 0:
        raise InputError("Sound travel needs a distance of 0 m or more and a sound speed above 0.")
    value = distance_m.value / sound_speed_mps.value
    u = math.hypot(distance_m.u, value * sound_speed_mps.u) / sound_speed_mps.value
    return Quantity(value, u, "s")


def when_heard(
    seen: Quantity, distance_m: Quantity, sound_speed_mps: Quantity, link: ClockLink = UNKNOWN_LINK
) -> Quantity:
    """Return when an event seen in the film is heard on the sound track (s)."""
    travel = sound_travel(distance_m, sound_speed_mps)
    return Quantity(
        seen.value + travel.value + link.offset.value,
        math.hypot(seen.u, travel.u, link.offset.u),
        "s",
    )


def when_seen(passing: Quantity, link: ClockLink = UNKNOWN_LINK) -> Quantity:
    """Return when the passing found in the sound is seen in the film (s).

    Parameters
    ----------
    passing : Quantity
        Time at which the source *is* at the closest point, on the sound track's clock (s), as
        the curve fit gives it: its sound travel is already taken off.
    link : ClockLink
    """
    return Quantity(passing.value - link.offset.value, math.hypot(passing.u, link.offset.u), "s")


@dataclass(frozen=True)
class PassingCheck:
    """Film against sound: the time at which the source passed the camera.

    Parameters
    ----------
    film, sound : Quantity
        Passing time from the crossing of a marker at the camera, and from the sound's curve
        fit, both on the film's clock (s).
    difference : Quantity
        Film minus sound (s).
    normalized_error : float
        Difference over its expanded (k = 2) uncertainty; agreement within 1 (ISO 13528).
    sentence : str
    """

    film: Quantity
    sound: Quantity
    difference: Quantity
    normalized_error: float
    sentence: str


def check_passing(
    film: Quantity, passing: Quantity, link: ClockLink = UNKNOWN_LINK
) -> PassingCheck:
    """Compare the crossing of a marker at the camera with the passing time from the sound.

    Parameters
    ----------
    film : Quantity
        Film time at which the source crossed the marker straight in front of the camera (s).
    passing : Quantity
        Passing time from the curve fit, on the sound track's clock (s).
    link : ClockLink
    """
    sound = when_seen(passing, link)
    difference = Quantity(film.value - sound.value, math.hypot(film.u, sound.u), "s")
    e_n = difference.value / (2 * difference.u) if difference.u else math.inf
    size = f"{1e3 * abs(difference.value):.0f} ms, uncertainty {1e3 * difference.u:.0f} ms"
    if abs(e_n) <= 1:
        sentence = f"Film and sound agree on the passing time (difference {size})."
    else:
        order = "later" if difference.value > 0 else "earlier"
        sentence = (
            f"The film shows the passing {order} than the sound tells ({size}): check which point "
            f"of the vehicle was marked, where the camera stood, and the clap."
        )
    return PassingCheck(film, sound, difference, e_n, sentence)
