"""The plan as JSON values; see docs/json-output.md for the stable schema."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

from wayside.plan.result import Plan, SpeedCase, Window

FORMAT = "wayside-plan"
VERSION = 1


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """Return the documented JSON values of a plan."""
    request = plan.request
    return {
        "format": FORMAT,
        "version": VERSION,
        "request": {
            f.name: list(value) if isinstance(value, tuple) else value
            for f in fields(request)
            for value in (getattr(request, f.name),)
        },
        "cases": [_case(c) for c in plan.cases],
        "timing": [
            {"frame_rate": t.frame_rate, "markers_m": t.markers_m, "percent": t.percent}
            for t in plan.timing
        ],
        "frame_rate_needed": _n(plan.frame_rate_needed),
        "audible_speed_mps": plan.audible_speed_mps,
        "offset": {
            "nearest_m": plan.offset.nearest_m,
            "furthest_m": plan.offset.furthest_m,
            "best_m": plan.offset.best_m,
            "reason": plan.offset.reason,
        },
        "warnings": list(plan.warnings),
        "safety": list(plan.safety),
    }


def _case(c: SpeedCase) -> dict[str, Any]:
    p = c.passby
    return {
        "speed_mps": p.speed_mps,
        "source_hz": p.source_hz,
        "approach_hz": p.approach_hz,
        "recede_hz": p.recede_hz,
        "shift_up_hz": p.approach_hz - p.source_hz,
        "shift_down_hz": p.source_hz - p.recede_hz,
        "drop_cents": c.drop_cents,
        "drop_semitones": c.drop_semitones,
        "drop_percent": c.drop_percent,
        "noticeable_steps": c.noticeable_steps,
        "glide_s": c.glide_s,
        "approach_window": _window(c.approach),
        "recede_window": _window(c.recede),
        "needed_s": c.needed_s,
        "read_speed_percent": c.read_speed_percent,
        "curve": {
            "times_s": [round(float(t), 6) for t in c.times_s],
            "pitch_hz": [round(float(f), 6) for f in c.pitch_hz],
        },
    }


def _window(w: Window | None) -> dict[str, float] | None:
    if w is None:
        return None
    return {
        "start_s": w.start_s,
        "stop_s": w.stop_s,
        "start_m": w.start_m,
        "stop_m": w.stop_m,
    }


def _n(x: float | None) -> float | None:
    return x if x is not None and math.isfinite(x) else None
