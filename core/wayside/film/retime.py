"""Slow-motion and retimed clips: how to notice them, and how to get true seconds back.

A clip filmed at R frames a second whose frames are spaced by s seconds on the film's clock
runs slow by the factor R s; true time = film time / (R s).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wayside.errors import InputError
from wayside.film.times import FrameTimes
from wayside.quantity import Quantity

FAST_FPS = 100.0
DEFAULT_RATE_U = 0.001
LOWEST_RATE, HIGHEST_RATE = 1.0, 100_000.0
LENGTH_SHARE = 0.05
LENGTH_S = 0.5
STEP_CHANGE = 1.8


@dataclass(frozen=True)
class Suspicion:
    """One reason to think that film seconds are not true seconds.

    Parameters
    ----------
    kind : {"fast", "stated", "lengths", "silent", "ramp"}
    sentence : str
        The reason, and what to do.
    stated_fps : float
        Capture rate the file states for "stated", else 0.
    """

    kind: str
    sentence: str
    stated_fps: float = 0.0


def suspicions(
    times: FrameTimes, sound_s: float | None, stated_fps: float = 0.0
) -> tuple[Suspicion, ...]:
    """Look for signs of slow motion or of retiming.

    Parameters
    ----------
    times : FrameTimes
    sound_s : float or None
        Length of the sound track (s), 0 when unknown; None without a sound track.
    stated_fps : float
        Capture rate stated in the file's own notes (1/s), 0 when not stated.
    """
    found = []
    rate = times.rate_hz
    picture_s = float(times.seconds[-1] - times.seconds[0]) + times.typical_step_s
    if stated_fps > 0 and rate > 0 and abs(stated_fps / rate - 1) > LENGTH_SHARE:
        found.append(
            Suspicion(
                "stated",
                f"The file says it was filmed at {stated_fps:g} frames a second but plays at "
                f"{rate:.4g}: it is slow motion. Enter {stated_fps:g} as the true rate.",
                stated_fps,
            )
        )
    elif rate >= FAST_FPS:
        found.append(
            Suspicion(
                "fast",
                f"The film has {rate:.4g} frames a second. If it plays at natural speed its times "
                f"are true; if it plays slowed down, enter the rate it was filmed at.",
            )
        )
    if sound_s and abs(sound_s - picture_s) > max(LENGTH_S, LENGTH_SHARE * picture_s):
        found.append(
            Suspicion(
                "lengths",
                f"Picture ({picture_s:.2f} s) and sound ({sound_s:.2f} s) differ in length: the "
                f"film may have been slowed, sped up or cut. Use the original film, or enter the "
                f"rate it was filmed at.",
            )
        )
    if _changes_step(times):
        found.append(
            Suspicion(
                "ramp",
                "The spacing of the frames changes for good within the film: part of it may be "
                "slowed down. Use crossings from one part only, or the original film.",
            )
        )
    return tuple(found)


def _changes_step(times: FrameTimes) -> bool:
    """Tell whether runs of frames have lastingly different spacing (medians of eighths)."""
    if len(times) < 64:
        return False
    medians = [float(np.median(part)) for part in np.array_split(times.steps_s, 8)]
    return max(medians) > STEP_CHANGE * min(medians)


@dataclass(frozen=True)
class Retiming:
    """How film time becomes true time.

    Parameters
    ----------
    factor : float
        Film seconds per true second, > 0; 1 for a film at natural speed.
    relative_u : float
        Relative standard uncertainty of the factor.
    """

    factor: float = 1.0
    relative_u: float = 0.0

    def true_interval(self, film: Quantity) -> Quantity:
        """Turn a time difference on the film's clock into a true one (s)."""
        value = film.value / self.factor
        return Quantity(value, math.hypot(film.u / self.factor, value * self.relative_u), "s")

    def true_s(self, film_s: float) -> float:
        """Turn a time on the film's clock into true seconds since the clock's zero."""
        return film_s / self.factor


AS_FILMED = Retiming()


def retiming(times: FrameTimes, true_fps: float, relative_u: float = DEFAULT_RATE_U) -> Retiming:
    """Return the retiming for a true capture rate entered by hand.

    Parameters
    ----------
    times : FrameTimes
    true_fps : float
        Frames a second while filming.
    relative_u : float
        Its relative standard uncertainty; phones keep the rate they state to about 0.1 %
        (common practice, no source).

    Raises
    ------
    InputError
        The rate is not usable.
    """
    if not (LOWEST_RATE <= true_fps <= HIGHEST_RATE):
        raise InputError(
            f"A true rate of {true_fps:g} frames a second is not possible; enter a rate from "
            f"{LOWEST_RATE:g} to {HIGHEST_RATE:g}."
        )
    if len(times) < 2:
        raise InputError("A film of one frame has no rate; choose a film of the whole pass.")
    # The mean, not the median, as dropped frames leave the capture clock running.
    span = times.seconds[-1] - times.seconds[0]
    n_steps = float(np.round(times.steps_s / times.typical_step_s).sum())
    return Retiming(true_fps * float(span) / n_steps, relative_u)
