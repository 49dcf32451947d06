"""When a crossing that is seen in the film is heard: the sound's way to the microphone first.

At the film time t the source is ``x = v (t - t_p)`` from the closest point, so its sound has
``r = sqrt(d^2 + x^2)`` to go; v, d and the passing time t_p come from the curve fit.
"""

from __future__ import annotations

import math

from wayside.film.clock import UNKNOWN_LINK, ClockLink, when_heard, when_seen
from wayside.quantity import Quantity


def distance_when(
    seen: Quantity,
    passing: Quantity,
    speed_mps: Quantity,
    closest_m: Quantity,
    link: ClockLink = UNKNOWN_LINK,
) -> Quantity:
    """Return how far the source is from the microphone when it is seen (m).

    Parameters
    ----------
    seen : Quantity
        On the film's clock (s).
    passing : Quantity
        When the source is at the closest point, on the sound track's clock (s).
    speed_mps, closest_m : Quantity
        From the same curve fit.
    link : ClockLink
    """
    since = seen.value - when_seen(passing, link).value
    along = speed_mps.value * since
    away = math.hypot(closest_m.value, along)
    if away == 0:
        return Quantity(0.0, closest_m.u, "m")
    u_since = math.hypot(seen.u, passing.u, link.offset.u)
    u_along = math.hypot(speed_mps.value * u_since, since * speed_mps.u)
    u = math.hypot(closest_m.value * closest_m.u, along * u_along) / away
    return Quantity(away, u, "m")


def crossing_heard(
    seen: Quantity,
    passing: Quantity,
    speed_mps: Quantity,
    closest_m: Quantity,
    sound_speed_mps: Quantity,
    link: ClockLink = UNKNOWN_LINK,
) -> Quantity:
    """Return when the sound made at a crossing is heard, on the sound track's clock (s)."""
    away = distance_when(seen, passing, speed_mps, closest_m, link)
    return when_heard(seen, away, sound_speed_mps, link)
