"""The truth of a simulated recording, as plain JSON beside it.

Quantities have the same names and shape as in a measurement's JSON, with ``u`` 0.
"""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

import numpy as np

from wayside.physics.passby import FloatArray
from wayside.quantity import Quantity
from wayside.simulate.film import FilmOptions
from wayside.simulate.motion import Motion
from wayside.simulate.render import source_motion
from wayside.simulate.scene import Scene

FORMAT, VERSION = "wayside-truth", 1


def truth(scene: Scene, seed: int) -> dict[str, Any]:
    """Return the truth of `scene` rendered with `seed`.

    The quantities at the top are those of the first source; ``sources`` lists all.
    """
    sources = [
        _source_truth(source_motion(source, index, seed)) | {"kind": source.kind}
        for index, source in enumerate(scene.sources)
    ]
    return {
        "format": FORMAT,
        "version": VERSION,
        "seed": seed,
        **sources[0],
        "sources": sources,
        "scene": _plain(asdict(scene)),
    }


def film_truth(motion: Motion, options: FilmOptions, frame_times_s: FloatArray) -> dict[str, Any]:
    """Return where and when the film shows the front wheel at each marker.

    ``first_frame`` is the index (from 0) of the first frame taken when the wheel has reached
    the marker, None if that is not in the film.
    """
    crossings = []
    for marker in sorted(options.markers_m, reverse=motion.direction < 0):
        when = crossing_time(motion, marker)
        after = int(np.searchsorted(frame_times_s, when))
        shown = 0 < after < len(frame_times_s)
        crossings.append(
            {
                "marker_m": marker,
                "time_s": when,
                "first_frame": after if shown else None,
                "first_frame_time_s": float(frame_times_s[after]) if shown else None,
                "frame_before_time_s": float(frame_times_s[after - 1]) if shown else None,
            }
        )
    return {
        "marker_distance": _q(options.marker_distance_m, "m"),
        "crossings": crossings,
        "frames": len(frame_times_s),
        "nominal_frames_per_s": options.frames_per_s,
        "rotation_deg": options.rotation_deg,
    }


def crossing_time(motion: Motion, place_m: float) -> float:
    """Return when the source is `place_m` along the track (s), by Newton's method."""
    target = motion.direction * place_m
    p = motion.passby
    tau = np.array([p.passing_time_s + target / p.speed_mps])
    for _ in range(50):
        step = (motion.travelled(tau) - target) / motion.speed(tau)
        tau = tau - step
        if abs(step[0]) < 1e-12:
            break
    return float(tau[0])


def _source_truth(motion: Motion) -> dict[str, Any]:
    p = motion.passby
    at_passing = float(motion.speed(np.array([p.passing_time_s]))[0])
    return {
        "approach_hz": _q(p.approach_hz, "Hz"),
        "recede_hz": _q(p.recede_hz, "Hz"),
        "source_hz": _q(p.source_hz, "Hz"),
        "speed_mps": _q(p.speed_mps, "m/s"),
        "speed_at_passing_mps": _q(at_passing, "m/s"),
        "closest_m": _q(p.closest_m, "m"),
        "passing_time_s": _q(p.passing_time_s, "s"),
        "sound_speed_mps": _q(p.sound_speed_mps, "m/s"),
        "acceleration_mps2": _q(p.acceleration_mps2, "m/s^2"),
        "cycles_per_metre": _q(p.source_hz / p.speed_mps, "1/m") if p.speed_tied else None,
    }


def _q(value: float, unit: str) -> dict[str, Any]:
    return Quantity(value, 0.0, unit).as_json()


def _plain(value: Any) -> Any:
    """Return `value` with infinities as None and tuples as lists, fit for strict JSON."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
