"""Proposes crossings from what changes around a marker line; a person confirms or drops them.

The still background of the strip is its median over the frames. A column of the strip is busy
when several neighbouring points differ clearly from it. Something that passes makes the strip
busy from one side to the other; its front crosses the line between the last frame in which no
column at or beyond the line is busy and the first in which one is.
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
RESTLESS_GREY = 12.0
BACKGROUND_S = 3.0
BACKGROUND_FRAMES = 401
CHUNK = 64
RESTLESS = (
    "The picture around the line is restless most of the time, so nothing can be proposed: the "
    "camera or the light moves, or something stands in front. Mark the crossing by eye."
)


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
        Greatest share of the strip that was busy, 0 to 1.
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
    background, noise = _background(scan.values)
    if float(np.median(noise)) > RESTLESS_GREY:
        return ProposalList((), RESTLESS)
    busy = _busy_columns(scan.values, background, noise)
    any_busy = np.array(busy.any(axis=1))
    if any_busy.mean() > MOST_BUSY:
        return ProposalList((), RESTLESS)
    bursts = _bursts(any_busy, times.seconds[scan.indices])
    if span is not None:
        bursts = [(a, b) for a, b in bursts if _overlaps(scan, a, b, span)]
    strengths = [float(busy[a:b].mean(axis=1).max()) for a, b in bursts]
    proposals: list[Proposal] = []
    for (a, b), strength in zip(bursts, strengths, strict=True):
        if strength >= WEAK_SHARE * max(strengths):
            proposals += _of_burst(scan, times, busy, (a, b), strength)
    if span is not None:
        proposals = [p for p in proposals if span[0] <= p.before and p.after < span[1]]
    note = "" if proposals else "Nothing crosses this line clearly; mark the crossing by eye."
    return ProposalList(tuple(proposals), note)


def _background(
    values: npt.NDArray[np.uint8],
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """Return the still background and the spread about it, each (n_columns, n_along)."""
    some = values[:: max(1, len(values) // BACKGROUND_FRAMES)]
    background = np.median(some, axis=0).astype(np.float32)
    spread = 1.4826 * np.median(np.abs(some - background), axis=0)
    return background, spread.astype(np.float32)


def _busy_columns(
    values: npt.NDArray[np.uint8],
    background: npt.NDArray[np.float32],
    noise: npt.NDArray[np.float32],
) -> npt.NDArray[np.bool_]:
    """Tell which columns are busy in which frame, shape (n_frames, n_columns)."""
    limit = np.maximum(CHANGE_GREY, NOISE_FACTOR * noise)
    n_along = values.shape[2]
    least = min(n_along, max(LEAST_RUN, round(RUN_SHARE * n_along)))
    busy = np.empty(values.shape[:2], dtype=bool)
    for start in range(0, len(values), CHUNK):
        changed = np.abs(values[start : start + CHUNK] - background) > limit
        sums = np.cumsum(np.pad(changed, ((0, 0), (0, 0), (1, 0))), axis=2, dtype=np.int32)
        runs = sums[..., least:] - sums[..., :-least] == least
        busy[start : start + CHUNK] = runs.any(axis=2)
    return busy


def _of_burst(
    scan: LineScan,
    times: FrameTimes,
    busy: npt.NDArray[np.bool_],
    burst: tuple[int, int],
    strength: float,
) -> list[Proposal]:
    start, stop = burst
    direction = _direction(scan.offsets_px, busy[start:stop])
    ahead = (direction or 1) * scan.offsets_px
    beyond = np.flatnonzero(busy[start:stop][:, ahead >= 0].any(axis=1))
    short_of = np.flatnonzero(busy[start:stop][:, ahead <= 0].any(axis=1))
    found = []
    # Without a frame before, or with one side never reached, nothing crossed.
    if len(beyond) and len(short_of):
        first, last = start + int(beyond[0]), start + int(short_of[-1])
        if first > 0:
            found.append(_proposal(scan, times, first - 1, "front", direction, strength))
        if last + 1 < len(busy):
            found.append(_proposal(scan, times, last, "rear", direction, strength))
    return found


def _direction(offsets_px: npt.NDArray[np.float64], busy: npt.NDArray[np.bool_]) -> int:
    """Tell where it went: from the middle of what was busy at first to that at last."""
    rows = np.flatnonzero(busy.any(axis=1))
    first, last = (float(offsets_px[busy[row]].mean()) for row in (rows[0], rows[-1]))
    moved = last - first
    return 0 if abs(moved) < 0.2 * float(np.ptp(offsets_px)) else int(np.sign(moved))


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


def _proposal(
    scan: LineScan, times: FrameTimes, row: int, edge: str, direction: int, strength: float
) -> Proposal:
    before, after = int(scan.indices[row]), int(scan.indices[row + 1])
    crossing = crossing_between(times, before, after)
    return Proposal(before, after, crossing, edge, direction, strength)
