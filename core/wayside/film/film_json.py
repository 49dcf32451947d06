"""Films, crossings and speeds as JSON values; see docs/json-output.md for the stable schema."""

from __future__ import annotations

from typing import Any

from wayside.film.crossing import Crossing
from wayside.film.geometry import Line
from wayside.film.info import FilmInfo
from wayside.film.proposals import Proposal, ProposalList
from wayside.film.retime import Retiming
from wayside.film.segments import SpeedResult

FRAMES_FORMAT, CROSSINGS_FORMAT, VERSION = "wayside-frames", "wayside-crossings", 1


def film_as_json(info: FilmInfo) -> dict[str, Any]:
    """Return what is known of a film."""
    times = info.times
    return {
        "name": info.name,
        "codec": info.codec,
        "width": info.width,
        "height": info.height,
        "rotation_deg": info.rotation_deg,
        "n_frames": len(times),
        "typical_step_s": times.typical_step_s,
        "sound": {"start_s": info.sound.start_s, "duration_s": info.sound.duration_s}
        if info.sound
        else None,
        "suspicions": [{"kind": s.kind, "sentence": s.sentence} for s in info.suspicions],
        "notes": list(info.notes),
    }


def frames_as_json(info: FilmInfo, first: int, stop: int) -> dict[str, Any]:
    """Return the frames ``first .. stop - 1`` with their times."""
    seconds = info.times.seconds
    return {
        "format": FRAMES_FORMAT,
        "version": VERSION,
        "film": film_as_json(info),
        "frames": [
            {"index": k, "time_s": float(seconds[k]), "key": bool(info.times.is_key[k])}
            for k in range(first, stop)
        ],
    }


def crossings_as_json(
    info: FilmInfo,
    lines: list[tuple[Line, ProposalList]],
    crossings: list[Crossing],
    confirmed: bool,
    clock: Retiming,
    speed: SpeedResult | None,
) -> dict[str, Any]:
    """Return proposed or confirmed crossings and, if worked out, the speeds."""
    return {
        "format": CROSSINGS_FORMAT,
        "version": VERSION,
        "film": film_as_json(info),
        "lines": [_line(line, found) for line, found in lines],
        "crossings": [_crossing(c, info) for c in crossings],
        "confirmed": confirmed,
        "clock": {"film_seconds_per_second": clock.factor, "relative_u": clock.relative_u},
        "speed": _speed(speed) if speed else None,
    }


def _line(line: Line, found: ProposalList) -> dict[str, Any]:
    best = found.best
    return {
        "line_px": [line.start.x, line.start.y, line.stop.x, line.stop.y],
        "proposals": [_proposal(p) for p in found.proposals],
        "first_to_look_at": found.proposals.index(best) if best else None,
        "note": found.note,
    }


def _proposal(p: Proposal) -> dict[str, Any]:
    return {
        "before_frame": p.before,
        "after_frame": p.after,
        "time_s": p.crossing.time.as_json(),
        "edge": p.edge,
        "direction": p.direction,
        "strength": p.strength,
    }


def _crossing(c: Crossing, info: FilmInfo) -> dict[str, Any]:
    return {
        "before_frame": info.times.nearest(c.before_s),
        "after_frame": info.times.nearest(c.after_s),
        "time_s": c.time.as_json(),
        "method": c.method,
        "note": c.note,
    }


def _speed(result: SpeedResult) -> dict[str, Any]:
    check = result.constancy
    return {
        "speed_mps": result.speed.as_json(),
        "segments": [
            {
                "distance_m": s.distance.as_json(),
                "duration_s": s.duration.as_json(),
                "speed_mps": s.speed.as_json(),
            }
            for s in result.segments
        ],
        "constancy": None
        if check is None
        else {
            "chi_square": check.chi_square,
            "degrees_of_freedom": check.degrees_of_freedom,
            "probability": check.probability,
            "acceleration_mps2": check.acceleration.as_json(),
            "sentence": check.sentence,
        },
        "notes": list(result.notes),
    }
