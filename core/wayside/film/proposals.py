"""Proposes crossings from what changes along a marker line; a person confirms or drops them.

The still background along the line is its median over the frames. A frame is busy when several
neighbouring points differ clearly from it. The first busy frame after a quiet one is where the
front of something reached the line: it crossed between that frame and the one before.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.film.crossing import Crossing, crossing_between
from wayside.film.film import Film
from wayside.film.geometry import Line
from wayside.film.scan import LineScan, scan_lines
from wayside.film.times import FrameTimes
from wayside.jobs import QUIET, Job

CHANGE_GREY = 16.0
NOISE_FACTOR = 6.0
LEAST_RUN = 3
RUN_SHARE = 0.03
MERGE_S = 0.12
WEAK_SHARE = 0.2
MOST_BUSY = 0.6
BACKGROUND_S = 3.0
BACKGROUND_FRAMES = 401


@dataclass(frozen=True)
class Proposal:
    """One proposed crossing, not to be used before a person has looked at it.

    Parameters
    ----------
    before, after : int
        Last frame before and first frame after.
    crossing : Crossing
        Time and uncertainty if the proposal is right.
    edge : {"front", "rear"}
        Whether something reaches the line or leaves it.
    direction : int
        +1 or -1: towards the positive or negative side of the line; 0 when not seen.
    strength : float
        Greatest share of the line that changed, 0 to 1.
    """

    before: int
    after: int
    crossing: Crossing
    edge: str
    direction: int
    strength: float


@dataclass(frozen=True)
class ProposalList:
    """All proposals for one line.

    Parameters
    ----------
    proposals : tuple of Proposal
        In order of time.
    note : str
        One sentence when nothing could be proposed or the picture is restless, else ``""``.
    """

    proposals: tuple[Proposal, ...]
    note: str = ""

    @property
    def best(self) -> Proposal | None:
        """The front of the strongest pass: the first thing to look at."""
        fronts = [p for p in self.proposals if p.edge == "front"]
        strongest = max((p.strength for p in fronts), default=0.0)
        return next((p for p in fronts if p.strength >= 0.6 * strongest), None)


def propose_crossings(
    film: Film,
    lines: list[Line],
    *,
    span: tuple[int, int] | None = None,
    job: Job = QUIET,
) -> list[ProposalList]:
    """Watch the film along marker lines and propose crossings for each.

    Parameters
    ----------
    film : Film
    lines : list of Line
        Drawn only as high as the chosen point of the vehicle passes (pixels).
    span : tuple of int, optional
        (first, stop) frames to search; all by default.
    job : Job

    Raises
    ------
    InputError, MediaError, Cancelled
        See `wayside.film.scan.scan_lines`.
    """
    wide = None
    if span is not None:
        # Some film around the stretch shows what the line looks like when nothing passes.
        seconds = film.times.seconds
        wide = film.times.span(seconds[span[0]] - BACKGROUND_S, seconds[span[1] - 1] + BACKGROUND_S)
    scans = scan_lines(film.path, film.info, lines, span=wide, job=job)
    return [propose(scan, film.times, span) for scan in scans]


def propose(scan: LineScan, times: FrameTimes, span: tuple[int, int] | None = None) -> ProposalList:
    """Propose crossings of one line.

    Parameters
    ----------
    scan : LineScan
    times : FrameTimes
    span : tuple of int, optional
        (first, stop) frames between which a proposal must lie.
    """
    if len(scan.indices) < 3:
        return ProposalList((), "Too few frames to tell a passing thing from the background.")
    shares = [_changed_share(scan.values[:, side]) for side in range(3)]
    busy = shares[1] > 0
    if busy.mean() > MOST_BUSY:
        return ProposalList(
            (),
            "The line is restless most of the time, so nothing can be proposed: the camera or "
            "the light moves, or something stands in front. Mark the crossing by eye.",
        )
    seconds = times.seconds[scan.indices]
    bursts = _bursts(busy, seconds)
    if span is not None:
        bursts = [(a, b) for a, b in bursts if _overlaps(scan, a, b, span)]
    peak = max((float(shares[1][a:b].max()) for a, b in bursts), default=0.0)
    proposals: list[Proposal] = []
    for a, b in bursts:
        strength = float(shares[1][a:b].max())
        if strength < WEAK_SHARE * peak:
            continue
        direction = _direction(shares, a, b)
        if a > 0:
            proposals.append(_proposal(scan, times, a - 1, "front", direction, strength))
        if b < len(busy):
            proposals.append(_proposal(scan, times, b - 1, "rear", direction, strength))
    if span is not None:
        proposals = [p for p in proposals if span[0] <= p.before and p.after < span[1]]
    note = "" if proposals else "Nothing crosses this line clearly; mark the crossing by eye."
    return ProposalList(tuple(proposals), note)


def _changed_share(values: npt.NDArray[np.uint8]) -> npt.NDArray[np.float64]:
    """Return the share of changed points per frame, 0 where too few neighbours changed."""
    step = max(1, len(values) // BACKGROUND_FRAMES)
    background = np.median(values[::step], axis=0)
    change = np.abs(values - background.astype(np.float32))
    noise = 1.4826 * np.median(change[::step], axis=0)
    changed = change > np.maximum(CHANGE_GREY, NOISE_FACTOR * noise)
    n_points = values.shape[1]
    least = min(n_points, max(LEAST_RUN, round(RUN_SHARE * n_points)))
    sums = np.cumsum(np.pad(changed, ((0, 0), (1, 0))), axis=1, dtype=np.int32)
    has_run = (sums[:, least:] - sums[:, :-least] == least).any(axis=1)
    return np.where(has_run, changed.mean(axis=1), 0.0)


def _bursts(busy: npt.NDArray[np.bool_], seconds: npt.NDArray[np.float64]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([False], busy, [False]))))
    merged: list[tuple[int, int]] = []
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if merged and seconds[start] - seconds[merged[-1][1] - 1] <= MERGE_S:
            merged[-1] = (merged[-1][0], stop)
        else:
            merged.append((start, stop))
    return merged


def _overlaps(scan: LineScan, start: int, stop: int, span: tuple[int, int]) -> bool:
    return bool(scan.indices[stop - 1] >= span[0] and scan.indices[start] < span[1])


def _direction(shares: list[npt.NDArray[np.float64]], start: int, stop: int) -> int:
    """Tell from which side it came: the side line it reached first."""
    low = max(0, start - (stop - start) - 15)
    firsts = []
    for side in (0, 2):
        busy = shares[side] > 0
        reached = start if busy[start] else -1
        if reached >= 0:
            while reached > low and busy[reached - 1]:
                reached -= 1
        else:
            later = np.flatnonzero(busy[start:stop])
            reached = start + int(later[0]) if len(later) else stop + 1
        firsts.append(reached)
    return int(np.sign(firsts[1] - firsts[0]))


def _proposal(
    scan: LineScan, times: FrameTimes, row: int, edge: str, direction: int, strength: float
) -> Proposal:
    before, after = int(scan.indices[row]), int(scan.indices[row + 1])
    crossing = crossing_between(times, before, after)
    return Proposal(before, after, crossing, edge, direction, strength)
