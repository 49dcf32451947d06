"""What shortcuts cost, as plain text."""

from __future__ import annotations

from wayside.hand.methods import Methods
from wayside.hand.tables import table


def methods_text(m: Methods) -> str:
    """Return every shortcut with its error, and what near reading windows do."""
    blocks = []
    if m.shortcuts:
        blocks.append(
            "\n".join(["What shortcuts cost", *(f"    {s.sentence}" for s in m.shortcuts)])
        )
    if m.rounding:
        blocks.append(
            "\n".join(["What rounding early costs", *(f"    {s.sentence}" for s in m.rounding)])
        )
    if m.near:
        blocks.append(_near_text(m))
    blocks.append(_wind_text(m))
    return "\n\n".join(blocks)


def _near_text(m: Methods) -> str:
    closest = m.near[0].position_m / m.near[0].multiple
    rows = [("pitches read at", "before and after", "approach", "recede", "speed from them", "")]
    rows += [
        (
            f"± {n.multiple:g} × {closest:.3g} m",
            f"± {n.time_s:.2f} s",
            f"{n.approach_hz:.2f} Hz",
            f"{n.recede_hz:.2f} Hz",
            f"{n.speed_mps:.3f} m/s",
            f"{n.speed_percent:+.1f} %".replace("-", "−"),
        )
        for n in m.near
    ]
    head = "What the pitches would be at a reading window instead of far away"
    return "\n".join([head, *table(rows)])


def _wind_text(m: Methods) -> str:
    rows = [("", "approach", "recede", "speed from both", "speed from one pitch")]
    rows += [
        (
            w.label,
            f"{w.approach_hz:.2f} Hz",
            f"{w.recede_hz:.2f} Hz",
            _percent(w.both_percent),
            _percent(w.one_percent),
        )
        for w in m.wind
    ]
    head = "What wind does, and the error of a speed worked out as if it were calm"
    return "\n".join([head, *table(rows)])


def _percent(x: float | None) -> str:
    return "" if x is None else f"{round(x, 2) + 0.0:+.2f} %".replace("-", "−")
