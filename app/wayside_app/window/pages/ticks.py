"""Where the marks on an axis go, and how they are written."""

from __future__ import annotations

import math

from wayside_app.window import figures


def nice_step(span: float, about: int) -> float:
    """Return 1, 2 or 5 times a power of ten, so that about `about` steps fill the span."""
    rough = span / max(about, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    return min((m * power for m in (1.0, 2.0, 5.0, 10.0)), key=lambda step: abs(step - rough))


def ticks(low: float, high: float, about: int = 6) -> list[tuple[float, str]]:
    """Return the marks between two values with their labels."""
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        return []
    step = nice_step(high - low, about)
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [(k * step, figures.plain(k * step + 0.0, places)) for k in range(first, last + 1)]
