"""Whether both wheels of a bicycle may be heard, before they are asked for.

To fit both takes longer than all else. Who says that a wheel passes is believed; of anything else
the pitch must be one that treads can make, and the sound must rise and fall as a rider passes.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import IntEnum

from wayside.measure.bicycle import FASTEST_MPS
from wayside.measure.refine import Refined, Sound
from wayside.measure.staging import FARTHEST_M, may_be_treads
from wayside.measure.swell import swell_of

# a near glide that seems so many times as fast as riders go is none of theirs
FAR_TOO_FAST = 2.0


class Both(IntEnum):
    """How likely it is that both wheels of a bicycle are heard."""

    NOT = 0
    """Not at all: it is no tyre."""
    MAYBE = 1
    """They are asked for where one tyre is found."""
    LIKELY = 2
    """They are asked for where nothing is found either."""


Asked = Callable[[Sound, Refined], Both]
"""Whether what was refined in a sound, a tread's series of it, may be heard of both wheels."""


def never(sound: Sound, series: Refined) -> Both:
    """Ask for one source only."""
    return Both.NOT


def likely(sound: Sound, series: Refined) -> Both:
    """Ask in any case."""
    return Both.LIKELY


def as_a_tyre(sound: Sound, series: Refined) -> Both:
    """Hold the pitch against what treads can make, and the level against a passing rider's."""
    p, swell = series.passby, None
    # a slowing that passes for a passing seems faster still, but distant
    too_fast = p.speed_mps > FAR_TOO_FAST * FASTEST_MPS and p.closest_m < FARTHEST_M
    if may_be_treads(p.source_hz, FASTEST_MPS) and not too_fast:
        swell = swell_of(sound, series)
    if swell is None or not swell.may_pass:
        return Both.NOT
    return Both.LIKELY if swell.passes else Both.MAYBE


def loud_tyre(sound: Sound, series: Refined) -> Both:
    """As `as_a_tyre`, where nothing less than a likely one is worth the time."""
    both = as_a_tyre(sound, series)
    return both if both is Both.LIKELY else Both.NOT


BY_KIND: dict[str, Asked] = {"tone": never, "wheel": likely, "unknown": as_a_tyre}
