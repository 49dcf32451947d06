"""Several readings of one passing: which leads, and which say nothing new.

Harmonics of a source, two notes that share a line, or a line with and without its series are
each seen as a glide of their own, and followed. All but one are the same passing, read worse.
"""

from __future__ import annotations

from dataclasses import replace

from wayside.measure.hunt import Sighting
from wayside.measure.refine import Refined, Sound

# what a glide needs to be one (nats)
THRESHOLD = 35.0
BEYOND_DOUBT = 20.0 * THRESHOLD
# readings of one passing: phase kept so many times as long, and so many lines for a single one
FAR_LONGER, SERIES = 4.0, 3
# a phase that is kept outweighs a reading that explains so many times as much
KEPT_SHARE = 0.25
# two readings of one passing that differ by more nats than this are not equally likely
CLEARLY = 10.0
# a line is a harmonic of another whose ratio to it is so close to a whole number
HARMONIC = 0.01
# a voice or a melody that mimics a passing goes on at least this long to either side
MIMIC_LASTS_S = 1.0


# what was seen, how it was followed, and in which sound
Followed = tuple[Sighting, Refined, Sound]


def best_first(
    followed: list[Followed],
) -> list[Followed]:
    """Order by how clearly each glides; of two readings of one passing the likelier leads."""
    ordered = sorted(followed, key=lambda f: -f[1].glide_gain)
    if not ordered:
        return ordered
    top = ordered[0]
    same = [f for f in ordered if _same_passing(f[1], top[1])]
    most = max(f[1].gain for f in same)
    for other in same[1:]:
        told = other[1].coherent or other[1].gain > KEPT_SHARE * most
        if told and _clearer(other[1], top[1]):
            top = other
    if top is not ordered[0]:
        return [top, *(f for f in ordered if f is not top)]
    lead = top[1]
    alike = [
        f
        for f in ordered
        if f[1].glide_gain >= THRESHOLD
        and shadowed(f[1], [lead])
        and f[1].coherent == lead.coherent
    ]
    best = max(alike, key=lambda f: f[1].gain, default=ordered[0])
    if best[1].gain < lead.gain + CLEARLY:
        return ordered
    return [best, *(f for f in ordered if f is not best)]


def as_series(
    followed: list[Followed],
) -> list[Followed]:
    """Return the readings of a tread, a lone line in the lead for the harmonic that it is.

    A tyre that rings makes one harmonic the loudest by far; the others are heard beside it, if
    more faintly.
    """
    if not followed or len(followed[0][1].harmonics) > 1:
        return followed
    sighting, lone, sound = followed[0]
    for _, other, _ in followed[1:]:
        ratio = lone.passby.source_hz / other.passby.source_hz
        number = round(ratio)
        harmonic = number > 1 and abs(ratio / number - 1.0) < HARMONIC
        clear = len(other.harmonics) >= SERIES and other.glide_gain >= THRESHOLD
        if harmonic and clear and _same_passing(lone, other):
            p = lone.passby.with_(source_hz=lone.passby.source_hz / number)
            lines = tuple(sorted({*other.harmonics, number}))
            return [(sighting, replace(lone, passby=p, harmonics=lines), sound), *followed[1:]]
    return followed


def same_source(sighting: Sighting, first: Refined) -> bool:
    """Return True for another harmonic of a glide already followed beyond doubt."""
    if not _kept_beyond_doubt(first):
        return False
    p, other = first.passby, sighting.candidate
    ratio = other.alpha_hz / p.source_hz
    near = abs(other.tc - p.passing_time_s) < other.s + p.closest_m / p.speed_mps
    return near and abs(ratio - round(ratio)) < 0.03 * ratio and round(ratio) >= 1


def shadowed(one: Refined, refused: list[Refined]) -> bool:
    """Return True for a poorer reading of a glide already refused.

    One that keeps its phase is no poorer than one that does not, if it explains as much.
    """
    return any(
        _same_passing(one, r) and not (one.coherent and not r.coherent and one.gain > r.gain)
        for r in refused
    )


def _same_passing(one: Refined, other: Refined) -> bool:
    p, q = one.passby, other.passby
    wide = p.closest_m / p.speed_mps + q.closest_m / q.speed_mps
    return abs(p.passing_time_s - q.passing_time_s) < wide


def _clearer(one: Refined, lead: Refined) -> bool:
    """Return True where one reading of a loud passing says far more of it than another.

    How far a line stands above the noise beside it does not decide: two notes of a chord can
    share a line, loud and alone, that keeps the phase of neither.
    """
    if one.glide_gain < BEYOND_DOUBT:
        return False
    if one.coherent != lead.coherent:
        return one.coherent
    if not one.coherent:
        return one.window_s > FAR_LONGER * lead.window_s
    return len(one.harmonics) >= SERIES > len(lead.harmonics) == 1


def _kept_beyond_doubt(one: Refined) -> bool:
    return one.coherent and one.glide_gain >= BEYOND_DOUBT


def part_of_mimic(one: Refined, mimics: list[Refined]) -> bool:
    """Return True for what is fainter than a mimic of a passing and heard beside it."""
    return any(
        one.glide_gain < m.glide_gain
        and abs(one.passby.passing_time_s - m.passby.passing_time_s) < MIMIC_LASTS_S
        for m in mimics
    )
