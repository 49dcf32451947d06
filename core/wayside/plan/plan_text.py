"""The plan as plain text."""

from __future__ import annotations

import math

from wayside.hand.tables import table, two_columns
from wayside.plan.result import Plan, SpeedCase, Window


def plan_as_text(plan: Plan) -> str:
    """Return the whole plan as plain text."""
    blocks = [_place(plan), _pitches(plan), _windows(plan), _timing(plan), _offset(plan)]
    if plan.warnings:
        blocks.append("\n".join(["What will not work:", *(f"    {w}" for w in plan.warnings)]))
    else:
        blocks.append("Nothing stands in the way: this demonstration should work.")
    blocks.append("\n".join(["Safety:", *(f"    {s}" for s in plan.safety)]))
    return "\n\n".join(blocks) + "\n"


def _place(plan: Plan) -> str:
    r = plan.request
    source = (
        f"{r.pitch_hz:g} Hz"
        if r.pitch_hz is not None
        else f"{r.cycles_per_metre:.4g} pattern elements per metre"
    )
    rows = [
        ("source", source),
        ("speed", f"{r.speed_low_mps:.3g} to {r.speed_high_mps:.3g} m/s"),
        ("microphone to track", f"{r.closest_m:g} m"),
        ("run before and after", f"{r.before_m:g} m and {r.after_m:g} m"),
        ("speed of sound", f"{r.sound_speed_mps:.1f} m/s"),
    ]
    return "\n".join(["The plan", *two_columns(rows)])


def _pitches(plan: Plan) -> str:
    rows: list[tuple[str, ...]] = [
        (
            "speed",
            "source",
            "approach",
            "recede",
            "up",
            "down",
            "drop",
            "semitones",
            "cents",
            "noticeable steps",
            "glide",
        )
    ]
    rows += [_pitch_row(c) for c in plan.cases]
    tail = f"    The drop is obvious to a class from about {plan.audible_speed_mps:.1f} m/s."
    return "\n".join(["What will be heard", *table(rows), tail])


def _pitch_row(c: SpeedCase) -> tuple[str, ...]:
    p = c.passby
    return (
        f"{p.speed_mps:.2f} m/s",
        f"{p.source_hz:.1f} Hz",
        f"{p.approach_hz:.1f} Hz",
        f"{p.recede_hz:.1f} Hz",
        f"+{p.approach_hz - p.source_hz:.1f} Hz",
        f"−{p.source_hz - p.recede_hz:.1f} Hz",
        f"{c.drop_percent:.1f} %",
        f"{c.drop_semitones:.2f}",
        f"{c.drop_cents:.0f}",
        f"{c.noticeable_steps:.0f}",
        f"{c.glide_s:.2f} s",
    )


def _windows(plan: Plan) -> str:
    rows: list[tuple[str, ...]] = [
        ("speed", "approach window", "recede window", "speed read there")
    ]
    for c in plan.cases:
        error = (
            ""
            if c.read_speed_percent is None
            else f"{c.read_speed_percent:+.1f} %".replace("-", "−")
        )
        rows.append((f"{c.passby.speed_mps:.2f} m/s", _span(c.approach), _span(c.recede), error))
    head = "Where the far pitches can be read (seconds from the passing)"
    return "\n".join([head, *table(rows)])


def _span(window: Window | None) -> str:
    if window is None:
        return "none"
    return f"{window.start_s:.2f} to {window.stop_s:.2f} s".replace("-", "−")


def _timing(plan: Plan) -> str:
    r = plan.request
    rows: list[tuple[str, ...]] = [("camera", f"markers for {r.wanted_percent:g} % of speed", "")]
    for t in plan.timing:
        reached = "" if t.percent is None else f"{t.percent:.1f} % with {r.markers_m:g} m"
        rows.append((f"{t.frame_rate:g} frames/s", f"{t.markers_m:.1f} m apart", reached))
    lines = [f"How far apart the markers must be at {r.speed_high_mps:.3g} m/s", *table(rows)]
    if plan.frame_rate_needed is not None and math.isfinite(plan.frame_rate_needed):
        lines.append(
            f"    With markers {r.markers_m:g} m apart the camera needs at least "
            f"{plan.frame_rate_needed:.0f} frames a second."
        )
    return "\n".join(lines)


def _offset(plan: Plan) -> str:
    o = plan.offset
    if o.best_m is None:
        return f"Where to put the microphone\n    {o.reason}"
    return (
        f"Where to put the microphone\n    {o.nearest_m:.1f} to {o.furthest_m:.1f} m from the "
        f"track, best about {o.best_m:.1f} m. {o.reason}"
    )
