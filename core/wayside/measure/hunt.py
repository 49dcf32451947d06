"""Look through a whole recording for glides, stretch by stretch, in bounded memory."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wayside.jobs import QUIET, Job
from wayside.measure.chord import LINES, LOUD, is_crowded, together
from wayside.measure.comb import Comb, comb_of, summed_evidence
from wayside.measure.hidden import PLAIN, hidden
from wayside.measure.midway import Midway
from wayside.measure.planes import Plane, decimated, make_planes
from wayside.measure.refine import Sound
from wayside.measure.search import Candidate, search
from wayside.sound.recording import Recording

STRETCH_S, OVERLAP_S = 70.0, 20.0
MOST = 6


@dataclass(frozen=True)
class Sighting:
    """A glide found in a recording, with the harmonics seen along it.

    Parameters
    ----------
    candidate : Candidate
    comb : Comb
    summed : float
        How much better all its lines do than as many steady tones (nats).
    together : bool
        Its curve is the one that straightens all of the sound, not only its own lines.
    """

    candidate: Candidate
    comb: Comb
    summed: float = 0.0
    together: bool = False

    @property
    def evidence(self) -> float:
        """How much better than anything steady the glide is, by its best line or by all."""
        return max(self.candidate.evidence, self.summed)


def sound_between(
    recording: Recording,
    start_s: float,
    stop_s: float,
    midway: Midway | None = None,
    job: Job = QUIET,
) -> Sound:
    """Return the sound between two times of the recording's clock.

    With `midway`, two channels brought together by it, unless the job is stopped meanwhile.
    """
    first = max(0, int((start_s - recording.start_s) * recording.rate_hz))
    last = min(recording.n_samples, int(np.ceil((stop_s - recording.start_s) * recording.rate_hz)))
    if midway is None:
        samples = recording.mono(first, last)
    else:
        samples = midway.mono(recording, first, last, job)
    start = recording.start_s + first / recording.rate_hz
    return Sound(samples, recording.rate_hz, start, midway=midway)


def hunt(
    recording: Recording,
    start_s: float,
    stop_s: float,
    band_hz: tuple[float, float] | None,
    c: float,
    job: Job,
) -> list[Sighting]:
    """Return the best glides between two times, best evidence first.

    `c` is the speed of sound (m/s).
    """
    found: list[Sighting] = []
    at = start_s
    while True:
        end = min(stop_s, at + STRETCH_S)
        if stop_s - end < OVERLAP_S:
            end = stop_s
        job.step((at - start_s) / max(stop_s - start_s, 1e-9), "Looking for a pass-by")
        sound = sound_between(recording, at, end)
        job.check()
        planes = _planes_of(sound, band_hz, job)
        here = []
        seen = search(planes, job)[:MOST]
        for candidate in seen:
            job.check()
            comb = comb_of(candidate, planes)
            summed = summed_evidence(candidate, comb, planes[candidate.plane])
            here.append(Sighting(candidate, comb, summed))
        if is_crowded(seen):
            # a line of many that slide together counts for no less than the loudest alone
            here += _together(seen, planes, job, max(s.evidence for s in here) + 1.0)
        if max((s.evidence for s in here), default=0.0) < PLAIN:
            here += [
                Sighting(candidate, comb, comb.score)
                for candidate, comb in hidden(sound, planes, c, band_hz, job)
            ]
        found += here
        if end >= stop_s:
            break
        at = end - OVERLAP_S
    found.sort(key=lambda s: -s.evidence)
    return _separate(found)[: MOST + LINES]


def straightened(
    recording: Recording,
    start_s: float,
    stop_s: float,
    band_hz: tuple[float, float] | None,
    sightings: list[Sighting],
    job: Job,
) -> list[Sighting]:
    """Return the glide that straightens all of the sound about the loudest sighting.

    Nothing where none is loud, for faint lines drown in the sum of all cells, nor what is among
    the sightings already.
    """
    loudest = max((s.candidate for s in sightings), key=lambda c: c.evidence, default=None)
    if loudest is None or loudest.evidence < LOUD:
        return []
    reach = 0.5 * STRETCH_S
    sound = sound_between(
        recording, max(start_s, loudest.tc - reach), min(stop_s, loudest.tc + reach)
    )
    planes = _planes_of(sound, band_hz, job)
    known = {s.candidate for s in sightings if s.together}
    again = _together([loudest], planes, job) if planes else []
    return [one for one in again if one.candidate not in known]


def _planes_of(sound: Sound, band_hz: tuple[float, float] | None, job: Job) -> tuple[Plane, ...]:
    x, rate = decimated(sound.samples, sound.rate_hz)
    return make_planes(x, rate, sound.start_s, band_hz, job)


def _together(
    seen: list[Candidate], planes: tuple[Plane, ...], job: Job, summed: float = 0.0
) -> list[Sighting]:
    """Return the lines of the curve that straightens all of the sound, worth `summed` nats."""
    found = together(seen, planes, job)
    return [Sighting(one, comb_of(one, planes), summed, together=True) for one in found]


def _separate(found: list[Sighting]) -> list[Sighting]:
    kept: list[Sighting] = []
    for one in found:
        a = one.candidate
        again = any(
            abs(a.tc - k.candidate.tc) < 0.5 * (a.s + k.candidate.s)
            and abs(a.alpha_hz / k.candidate.alpha_hz - 1.0) < 0.03
            for k in kept
        )
        if not again:
            kept.append(one)
    return kept
