"""Films, crossings and speeds as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from wayside.film.crossing import SAME_POINT, Crossing
from wayside.film.geometry import Line
from wayside.film.info import FilmInfo
from wayside.film.proposals import Proposal, ProposalList
from wayside.film.retime import Retiming
from wayside.film.segments import SpeedResult


def film_as_text(info: FilmInfo) -> Iterator[str]:
    """Yield the lines that describe a film."""
    times = info.times
    turned = f", turned by {info.rotation_deg}°" if info.rotation_deg else ""
    yield f"{info.name}: {info.width} × {info.height} pixels{turned}, {info.codec}"
    yield f"  {len(times)} frames from {times.seconds[0]:.4f} to {times.seconds[-1]:.4f} s"
    if len(times) > 1:
        low, high = 1e3 * times.steps_s.min(), 1e3 * times.steps_s.max()
        yield (
            f"  {1e3 * times.typical_step_s:.2f} ms from frame to frame ({times.rate_hz:.4g} a "
            f"second), at least {low:.2f}, at most {high:.2f} ms"
        )
    if info.sound is None:
        yield "  no sound track"
    else:
        length = f", {info.sound.duration_s:.2f} s long" if info.sound.duration_s else ""
        yield f"  sound starts at {info.sound.start_s:.4f} s{length}"
    for sentence in (*(s.sentence for s in info.suspicions), *info.notes):
        yield f"  note: {sentence}"


def frames_as_text(info: FilmInfo, first: int, stop: int) -> Iterator[str]:
    """Yield the description and one line a frame."""
    yield from film_as_text(info)
    yield ""
    yield f"{'frame':>7} {'time in s':>12} {'since last in ms':>17}"
    seconds = info.times.seconds
    for k in range(first, stop):
        since = f"{1e3 * (seconds[k] - seconds[k - 1]):17.2f}" if k else f"{'':>17}"
        yield f"{k:7d} {seconds[k]:12.5f} {since}".rstrip()


def proposals_as_text(lines: list[tuple[Line, ProposalList]]) -> Iterator[str]:
    """Yield what is proposed for each line, and what to do with it."""
    pairs = []
    for number, (line, found) in enumerate(lines, 1):
        yield f"Line {number} ({line})"
        best = found.best
        if best is None:
            yield f"  no crossing proposed. {found.note}".rstrip()
        for p in found.proposals:
            mark = "look first" if p is best else ""
            yield f"  {_proposal(line, p):68} {mark}".rstrip()
        if best is not None:
            pairs.append(f"--pair {best.before},{best.after}")
    if pairs:
        yield ""
        yield "These are proposals, made from what changes along the lines. Look at both frames of"
        yield f"each; if they are right, confirm them with: {' '.join(pairs)}"
        yield SAME_POINT


def _proposal(line: Line, p: Proposal) -> str:
    what = "reached" if p.edge == "front" else "left"
    return f"{p.crossing.time}  {what} between frames {p.before} and {p.after}{_way(line, p)}"


def _way(line: Line, p: Proposal) -> str:
    if p.direction == 0:
        return ""
    nx, ny = line.normal
    across, along = p.direction * nx, p.direction * ny
    if abs(across) >= abs(along):
        return ", moving right" if across > 0 else ", moving left"
    return ", moving down" if along > 0 else ", moving up"


def crossings_as_text(crossings: list[Crossing]) -> Iterator[str]:
    """Yield one line a confirmed crossing."""
    for number, c in enumerate(crossings, 1):
        note = f" {c.note}" if c.note else ""
        yield f"Crossing {number}: {c.time}, {c.method}.{note}"


def speed_as_text(result: SpeedResult, clock: Retiming, confirmed: bool) -> Iterator[str]:
    """Yield the speeds, and what they rest on."""
    yield ""
    if not confirmed:
        yield "If the proposals to look at first are right:"
    if clock.factor != 1.0:
        yield f"One true second lasts {clock.factor:.4g} s in this film; the speeds allow for it."
    for number, s in enumerate(result.segments, 1):
        yield (f"  marker {number} to {number + 1}: {s.distance} in {s.duration}, so {s.speed}")
    if result.constancy is not None:
        yield f"  over all: {result.speed}"
        yield f"  acceleration: {result.constancy.acceleration}"
        yield f"  {result.constancy.sentence}"
    for note in result.notes:
        yield f"  note: {note}"
