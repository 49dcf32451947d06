"""The class's runs one below the other: speed by sound and by hand, with 95 % intervals."""

from __future__ import annotations

import math

from wayside.quantity import Quantity
from wayside.report.figures.canvas import (
    DASH,
    HAND,
    INK,
    QUIET,
    SOUND,
    Canvas,
    Figure,
    plain,
    ticks,
)
from wayside.report.text import one_line
from wayside.review.row import RunRow

_LEFT, _RIGHT, _TOP, _EACH, _BELOW = 190.0, 22.0, 30.0, 34.0, 44.0
_COVERAGE = 2.0
_LONGEST = 22


def class_figure(
    rows: tuple[RunRow, ...], pooled: Quantity | None, name: str = "class"
) -> Figure | None:
    """Return the figure, or None with fewer than two runs measured.

    Parameters
    ----------
    rows : tuple of RunRow
    pooled : Quantity or None
        The class's speed by sound (m/s), drawn as a band.
    name : str
        File name without its ending.
    """
    shown = [r for r in rows if _usable(r.speed_mps.measured)]
    if len(shown) < 2:
        return None
    canvas = Canvas(name, _TOP + _EACH * len(shown) + _BELOW)
    given = [q for r in shown for q in (r.speed_mps.measured, r.speed_mps.predicted) if _usable(q)]
    ends = [q.value + s * _COVERAGE * q.u for q in given if q is not None for s in (-1, 1)]
    pad = 0.06 * (max(ends) - min(ends)) or 0.1
    low, high = min(ends) - pad, max(ends) + pad
    width, bottom = canvas.width - _LEFT - _RIGHT, _TOP + _EACH * len(shown)

    def x(value: float) -> float:
        share = (value - low) / (high - low)
        return _LEFT + min(max(share, 0.0), 1.0) * width

    if pooled is not None and _usable(pooled):
        left, right = (x(pooled.value + s * _COVERAGE * pooled.u) for s in (-1, 1))
        canvas.box(left, _TOP, max(right - left, 1.0), bottom - _TOP, SOUND, opacity=0.12)
        canvas.line((x(pooled.value), _TOP), (x(pooled.value), bottom), SOUND, 1.0)
    _legend(canvas, pooled is not None)
    for k, row in enumerate(shown):
        y = _TOP + _EACH * (k + 0.5)
        label = one_line(row.name)
        label = label if len(label) <= _LONGEST else label[: _LONGEST - 1] + "…"
        canvas.words((_LEFT - 10, y + 5), label, INK, "end")
        for q, colour, dash, off in (
            (row.speed_mps.predicted, HAND, DASH, -6.0),
            (row.speed_mps.measured, SOUND, "", 6.0),
        ):
            if q is None or not _usable(q):
                continue
            ends_x = [x(q.value + s * _COVERAGE * q.u) for s in (-1, 1)]
            canvas.line((ends_x[0], y + off), (ends_x[1], y + off), colour, 1.8, dash)
            canvas.dot((x(q.value), y + off), 4.0, colour, hollow=colour == HAND)
    canvas.line((_LEFT, bottom), (_LEFT + width, bottom), QUIET)
    for value in ticks(low, high, 7):
        canvas.line((x(value), bottom), (x(value), bottom + 5), QUIET)
        canvas.words((x(value), bottom + 18), plain(value), INK, "middle")
    canvas.words((_LEFT + 0.5 * width, bottom + 36), "speed (m/s)", INK, "middle")
    return canvas.done(
        "Speeds of the runs, with 95 % intervals",
        f"{len(shown)} runs one below the other; dots by sound, rings by hand.",
    )


def _legend(canvas: Canvas, pooled: bool) -> None:
    canvas.dot((_LEFT + 6, 13), 4.0, HAND, hollow=True)
    canvas.words((_LEFT + 18, 18), "by hand", INK)
    canvas.dot((_LEFT + 106, 13), 4.0, SOUND)
    canvas.words((_LEFT + 118, 18), "by sound", INK)
    if pooled:
        canvas.box(_LEFT + 206, 6, 18, 14, SOUND, opacity=0.12)
        canvas.words((_LEFT + 232, 18), "all runs together, by sound", INK)


def _usable(q: Quantity | None) -> bool:
    return q is not None and math.isfinite(q.value) and math.isfinite(q.u)
