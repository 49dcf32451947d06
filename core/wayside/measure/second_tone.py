"""A second tone that glides past at the same time: two sources at once, or one that sounds two.

Harmonics of one source stand in ratios of small whole numbers. A glide seen near the same
passing in no such ratio is measured on its own, in a narrow band. Two sources of nearly one
pitch can be mixed up by a fit, so a second tone is always told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from wayside.errors import InputError
from wayside.hand import digits
from wayside.measure.hunt import Sighting
from wayside.measure.motion import from_curve
from wayside.measure.result import Fit, Measurement
from wayside.measure.search import Candidate
from wayside.measure.wheelweigh import MOST_RATIO
from wayside.physics.passby import PassBy

InBand = Callable[[tuple[float, float]], Measurement]
"""Measures the recording again between two pitches (Hz)."""

HALF_BAND = 1.04
NOT_HARMONIC = 0.008
SURELY_NOT_HARMONIC = {"coherent": 0.003, "incoherent": 0.012}
"""A tone that wavers is off its own harmonics by its wander."""

MIXED = 0.1
"""Tones nearer to each other than this fraction are mixed up easily."""

WHEELBASES_M = (0.5, 1.6)
"""So far are the tyres of a bicycle apart."""

SAME_SPEED, SAME_PLACE = 0.01, 0.05

MOST_TRIED = 2
NEAR = 4.0


@dataclass(frozen=True)
class SecondTone:
    """A second tone at the same passing.

    Parameters
    ----------
    fit : Fit
    mixed : bool
        Its pitch is so near to the first that a fit to both together may mix them, and it passes
        otherwise.
    instead : Measurement or None
        The measurement in its own band, where the first was made of pieces of several tones.
    """

    fit: Fit
    mixed: bool
    instead: Measurement | None = None


def second_tone(
    m: Measurement,
    sightings: Sequence[Sighting],
    least_evidence: float,
    in_band: InBand,
    both_tyres: bool = False,
) -> SecondTone | None:
    """Return a second tone at the same passing, if there is one.

    With `both_tyres` the hum of the other tyre is part of the measurement already.
    """
    if m.fit is None:
        return None
    p = m.fit.passby
    seen = [s.candidate for s in sightings if s.candidate.evidence >= least_evidence]
    least = MOST_RATIO if both_tyres else NOT_HARMONIC
    tried = [
        one.alpha_hz
        for one in seen
        if _near(p, one.tc, one.s) and apart(p, _rough(one, p.sound_speed_mps)) > least
    ]
    for pitch in tried[:MOST_TRIED]:
        try:
            measured = in_band((pitch / HALF_BAND, pitch * HALF_BAND))
        except InputError:
            continue
        other = measured.fit
        if other is None:
            continue
        near = abs(other.source_hz.value / p.source_hz - 1.0) < MIXED
        if near and _clearer(measured, m):
            return SecondTone(other, False, measured)
        if _is_second(m.fit, other):
            mixed = near and not _one_passing(p, other.passby) and not other_tyre(m.fit, other)
            return SecondTone(other, mixed)
    return None


def _clearer(one: Measurement, other: Measurement) -> bool:
    """Whether one keeps its phase and explains more, where the other loses it."""
    assert one.fit is not None
    assert other.fit is not None
    keeps = one.fit.method == "coherent" and other.fit.method != "coherent"
    return keeps and one.detection.statistic > other.detection.statistic


def _one_passing(p: PassBy, q: PassBy) -> bool:
    """Whether two tones pass so much alike that it does not matter which is which.

    The tone of a buzzer that throbs has others beside it, one beat higher and lower.
    """
    crossing = p.closest_m / p.speed_mps
    late = abs(p.passing_time_s - q.passing_time_s) / crossing
    faster = abs(q.speed_mps / p.speed_mps - 1.0)
    farther = abs(q.closest_m / p.closest_m - 1.0)
    return faster < SAME_SPEED and max(late, farther) < SAME_PLACE


def other_tyre(first: Fit, other: Fit) -> bool:
    """Whether two hums whose pitch follows the speed are those of a bicycle's two tyres.

    Parameters
    ----------
    first, other : Fit
    """
    p, q = first.passby, other.passby
    behind_m = p.speed_mps * abs(q.passing_time_s - p.passing_time_s)
    tied = p.speed_tied and q.speed_tied
    alike = abs(q.source_hz / p.source_hz - 1.0) < MOST_RATIO
    return tied and alike and WHEELBASES_M[0] < behind_m < WHEELBASES_M[1]


def off_harmonic(ratio: float) -> float:
    """Return how far a ratio of pitches is from one that harmonics of one source can have.

    Those are k/q with q up to 4, and 1/q with q up to 8.
    """
    steps = [(max(1, round(ratio * q)), q) for q in range(1, 5)] + [(1, q) for q in range(5, 9)]
    return min(abs(ratio * q / k - 1.0) for k, q in steps)


def _near(p: PassBy, at: float, width: float) -> bool:
    return abs(at - p.passing_time_s) < NEAR * (p.closest_m / p.speed_mps) + width


def _rough(seen: Candidate, c: float) -> PassBy:
    return from_curve(seen.alpha_hz, seen.mach, seen.s, seen.tc, c)


def _is_second(first: Fit, other: Fit) -> bool:
    p, q = first.passby, other.passby
    least = max(SURELY_NOT_HARMONIC[f.method] for f in (first, other))
    near = _near(p, q.passing_time_s, q.closest_m / q.speed_mps)
    return near and off_harmonic(q.source_hz / p.source_hz) > least and apart(p, q) > least


def apart(p: PassBy, q: PassBy) -> float:
    """Return how far the second glide is from the harmonics of the first while it falls.

    A narrow band cuts a piece out of a long glide, and the piece looks like a glide of its own.
    """
    reach = q.closest_m / q.speed_mps
    times = q.passing_time_s + np.linspace(-reach, reach, 9)
    ratios = q.pitch(times) / p.pitch(times)
    return float(np.median([off_harmonic(float(ratio)) for ratio in ratios]))


def band_of(fit: Fit, other: Fit) -> tuple[float, float] | None:
    """Return a band (Hz) that holds one tone and not the other; None where they overlap."""
    low, high = fit.recede_hz.value, fit.approach_hz.value
    if low < other.approach_hz.value and other.recede_hz.value < high:
        return None
    ratio = other.source_hz.value / fit.source_hz.value
    # no further than half-way to the other tone
    room = math.exp(min(0.1, 0.5 * abs(math.log(ratio))))
    return low / room, high * room


def sentence(first: Fit, second: SecondTone) -> str:
    """Return what a reader of the first tone's result should know of the second."""
    other = second.fit
    pitch, speed = digits.full_text(other.source_hz), digits.full_text(other.speed_mps)
    band = band_of(other, first)
    look = f"; --band {band[0]:.0f} {band[1]:.0f} looks at that one alone." if band else "."
    if second.mixed:
        return (
            f"Two sources pass at once with pitches near each other (another one at {pitch}, "
            f"{speed}); only the band of the first is measured here{look}"
        )
    if other_tyre(first, other):
        late_s = other.passing_time_s.value - first.passing_time_s.value
        if late_s > 0.0:
            return (
                f"The other tyre hums too: its hum of {pitch} passes {late_s:.2f} s later, and the "
                "result is that of the first."
            )
        return (
            f"The other tyre hums too: its hum of {pitch} passed {-late_s:.2f} s before, and the "
            "result is that of the second."
        )
    if _alike(first, other):
        return (
            f"A second tone of {pitch}, no harmonic of the first, passes with the same speed at "
            f"the same time: one vehicle sounds both{look}"
        )
    return (
        f"Two sources pass at once: another one of {pitch} passes with {speed} at "
        f"{other.passing_time_s.value:.1f} s{look}"
    )


def _alike(first: Fit, other: Fit) -> bool:
    """Return True where speed and passing time agree within k = 2, or nearly."""
    p, q = first.passby, other.passby
    u = math.hypot(first.speed_mps.u, other.speed_mps.u)
    crossing = p.closest_m / p.speed_mps
    close = abs(p.passing_time_s - q.passing_time_s) < 0.25 * crossing
    return close and abs(p.speed_mps - q.speed_mps) < max(2.0 * u, 0.01 * p.speed_mps)
