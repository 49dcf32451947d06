"""Further passes in the same recording: out and back, another source, or two at once.

Only one pass is measured; what else glides past within a minute is told in a sentence, so that
nobody takes one pass for the other. A source that passes twice with one pitch is taken to come
back the other way, and its two pitches then show the wind (see `wayside.review.wind_pair`).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from wayside.errors import InputError
from wayside.hand import digits
from wayside.measure.hunt import Sighting
from wayside.measure.result import Fit, Measurement
from wayside.measure.second_tone import MIXED, SecondTone, band_of, second_tone, sentence
from wayside.physics.passby import PassBy

Band = tuple[float, float]

Again = Callable[[float, float, bool, Band | None], Measurement]
"""Measures one pass between two times (s) and pitches (Hz); True keeps the windows set by hand."""

SAME_PITCH = 0.005
"""No wind that can be ridden in moves the pitch of a source by more than this fraction."""

REACH_S = 60.0
LEAST_S = 1.0
CLEAR = 4.0
"""From this many times d/v a pass no longer disturbs the search for another."""


def with_others(
    m: Measurement,
    sightings: Sequence[Sighting],
    least_evidence: float,
    again: Again,
    both_tyres: bool = False,
) -> Measurement:
    """Return the measurement with a sentence on each further pass among its warnings.

    Where there is one, the measurement is made anew from the part of the recording that is
    nearer to its own pass.

    Parameters
    ----------
    m : Measurement
        Of the pass that was chosen.
    sightings : sequence of Sighting
        Everything that was seen in the recording.
    least_evidence : float
        What a sighting elsewhere needs to make a second look worth while.
    again : callable
        See `Again`.
    both_tyres : bool
        It was measured as a bicycle both of whose tyres hum.
    """
    if m.fit is None:
        return m
    m, told = _apart_from_others(m, m.fit.passby, sightings, least_evidence, again)
    at = m.fit.passby.passing_time_s if m.fit is not None else math.nan

    def in_band(band: Band, own: bool = False) -> Measurement:
        return again(at - REACH_S, at + REACH_S, own, band)

    second = second_tone(m, sightings, least_evidence, in_band, both_tyres)
    if second is not None and second.instead is not None:
        m, second = second.instead, None
    if second is None or m.fit is None:
        return replace(m, warnings=(*m.warnings, *told))
    if second.mixed:
        band = band_of(m.fit, second.fit)
        alone = in_band(band, own=True) if band is not None else None
        if alone is None or alone.fit is None or not _same(alone.fit, m.fit):
            return _mixed_up(m, second)
        m = alone
    assert m.fit is not None
    return replace(m, warnings=(*m.warnings, sentence(m.fit, second), *told))


def _same(one: Fit, other: Fit) -> bool:
    return abs(one.source_hz.value / other.source_hz.value - 1.0) < MIXED / 2.0


def _mixed_up(m: Measurement, second: SecondTone) -> Measurement:
    """Return a refusal: the two tones cannot be told apart."""
    assert m.fit is not None
    reason = (
        "No pass-by found that stands alone: two sources pass at once with pitches near "
        f"{m.fit.source_hz.value:.0f} Hz and {second.fit.source_hz.value:.0f} Hz, too near to be "
        "told apart; record them one by one."
    )
    return Measurement(
        found=False,
        detection=replace(m.detection, reason=reason),
        sound_speed_mps=m.sound_speed_mps,
        start_s=m.start_s,
        stop_s=m.stop_s,
    )


def _apart_from_others(
    m: Measurement,
    p: PassBy,
    sightings: Sequence[Sighting],
    least_evidence: float,
    again: Again,
) -> tuple[Measurement, list[str]]:
    seen = [s.candidate.tc for s in sightings if s.candidate.evidence >= least_evidence]
    rough = [_pass_in(again, *stretch) for stretch in _beside(p, seen)]
    times = [f.passby.passing_time_s for f in rough if f is not None and _apart(f.passby, p)]
    if not times:
        return m, []
    # the sound of one pass disturbs the other: each is measured again in its own part
    here = _part_of(p.passing_time_s, times)
    alone = _measured_in(again, *here, own=True)
    if alone is not None and alone.fit is not None and not _apart(alone.fit.passby, p):
        m = alone
    return m, [_told(m, again, t, p.passing_time_s) for t in times]


def _beside(p: PassBy, seen: Sequence[float]) -> list[tuple[float, float]]:
    """Return the stretches before and after a pass in which something was seen."""
    width, at = CLEAR * p.closest_m / p.speed_mps, p.passing_time_s
    both = ((at - REACH_S, at - width), (at + width, at + REACH_S))
    return [
        (start, stop)
        for start, stop in both
        if stop - start > LEAST_S and any(start < t < stop for t in seen)
    ]


def _part_of(at: float, others: Sequence[float]) -> tuple[float, float]:
    """Return the stretch that is nearer to `at` than to any of the others."""
    halves = [0.5 * (at + t) for t in others]
    return (
        max((h for h in halves if h < at), default=at - REACH_S),
        min((h for h in halves if h > at), default=at + REACH_S),
    )


def _told(m: Measurement, again: Again, at: float, first: float) -> str:
    fit = _pass_in(again, *_part_of(at, [first]))
    assert m.fit is not None
    if fit is None or not _apart(fit.passby, m.fit.passby):
        return (
            f"Something else passes at about {at:.0f} s, too near to be measured apart; only the "
            f"pass at {first:.1f} s is measured here."
        )
    return _sentence(m, fit)


def _pass_in(again: Again, start: float, stop: float) -> Fit | None:
    m = _measured_in(again, start, stop, own=False)
    return m.fit if m is not None else None


def _measured_in(again: Again, start: float, stop: float, own: bool) -> Measurement | None:
    """Measure a stretch; None if no pass lies within it."""
    try:
        m = again(start, stop, own, None)
    except InputError:
        # too little sound is left there
        return None
    # the far end of another pass is no pass of its own
    inside = m.fit is not None and start < m.fit.passby.passing_time_s < stop
    return m if inside else None


def _apart(a: PassBy, b: PassBy) -> bool:
    width = a.closest_m / a.speed_mps + b.closest_m / b.speed_mps
    return abs(a.passing_time_s - b.passing_time_s) > CLEAR * width


def _sentence(m: Measurement, other: Fit) -> str:
    first = m.fit
    assert first is not None
    when, here = (f"{f.passing_time_s.value:.1f} s" for f in (other, first))
    speed, pitch = digits.full_text(other.speed_mps), digits.full_text(other.source_hz)
    only = f"only the pass at {here} is measured here, and --from and --to choose another."
    if other.source_model == "speed-tied" or first.source_model == "speed-tied":
        return f"A source passes again at {when}, with {speed} and a pitch of {pitch}; {only}"
    if abs(other.source_hz.value / first.source_hz.value - 1.0) > SAME_PITCH:
        return f"Another source, with {speed} and a pitch of {pitch}, passes at {when}; {only}"
    start = f"The same source passes again at {when} with {speed}"
    if m.alternatives:
        return f"{start}; say what the source is to have the wind worked out from both passes."
    # imported late: it rests on the measurement itself, and few recordings need it
    from wayside.review.wind_pair import wind_from_fits

    pair = sorted((first, other), key=lambda f: f.passby.passing_time_s)
    try:
        wind = wind_from_fits(pair[0], pair[1], m.sound_speed_mps)
    except InputError as error:
        return f"{start}. {error}"
    return f"{start}. If it came back the other way, {wind.finding}"
