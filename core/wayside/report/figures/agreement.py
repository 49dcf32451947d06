"""Hand above sound, quantity by quantity: bars that overlap agree."""

from __future__ import annotations

from wayside.compare.result import UNTESTED, Row
from wayside.hand import digits
from wayside.quantity import Quantity
from wayside.report.figures.canvas import (
    DASH,
    HAND,
    INK,
    PAPER,
    QUIET,
    SOUND,
    Canvas,
    Figure,
    plain,
    ticks,
)

_SHOWN = ("speed_mps", "source_hz", "approach_hz", "recede_hz")
_LEFT, _RIGHT = 150.0, 26.0
_TOP, _EACH = 28.0, 76.0
_BAR = 15.0


def agreement_figure(rows: tuple[Row, ...], name: str = "agreement") -> Figure | None:
    """Return one line a quantity with the 95 % intervals of hand and sound, or None.

    Parameters
    ----------
    rows : tuple of Row
        Of a comparison; only speed and pitches are shown, and only where they were tested.
    name : str
        File name without its ending.
    """
    tested = [r for r in rows if r.name in _SHOWN and r.verdict != UNTESTED]
    if not tested:
        return None
    canvas = Canvas(name, _TOP + _EACH * len(tested))
    _legend(canvas)
    for k, row in enumerate(tested):
        _line(canvas, row, _TOP + _EACH * k)
    words = "; ".join(
        f"{r.label}: by hand {digits.full_text(r.predicted)}, by sound "
        f"{digits.full_text(r.measured)}"
        for r in tested
    )
    return canvas.done(
        "Hand and sound, with 95 % intervals", words + ".", "Bars that overlap widely agree."
    )


def _line(canvas: Canvas, row: Row, top: float) -> None:
    ends = [e for q in (row.predicted, row.measured) for e in _interval(q, row.k)]
    span = (max(ends) - min(ends)) or max(abs(ends[0]), 1.0) * 1e-3
    low, high = min(ends) - 0.15 * span, max(ends) + 0.15 * span
    width = canvas.width - _LEFT - _RIGHT

    def x(value: float) -> float:
        return _LEFT + (value - low) / (high - low) * width

    canvas.words((8, top + 30), row.label, INK, bold=True)
    canvas.words((8, top + 47), row.verdict, QUIET)
    for q, y, colour, dash in (
        (row.predicted, top + 14, HAND, DASH),
        (row.measured, top + 34, SOUND, ""),
    ):
        left, right = _interval(q, row.k)
        wide = max(x(right) - x(left), 1.5)
        canvas.box(x(left), y, wide, _BAR, colour, colour, 0.18, "5 3" if dash else "")
        canvas.line((x(q.value), y - 2), (x(q.value), y + _BAR + 2), PAPER, 4.5)
        canvas.line((x(q.value), y - 2), (x(q.value), y + _BAR + 2), colour, 2.4)
    y = top + 56
    canvas.line((_LEFT, y), (_LEFT + width, y), QUIET)
    for value in ticks(low, high, 6):
        canvas.line((x(value), y), (x(value), y + 4), QUIET)
        canvas.words((x(value), y + 17), plain(value), INK, "middle", size=12)
    canvas.words((_LEFT - 10, y + 5), row.predicted.unit, QUIET, "end")


def _legend(canvas: Canvas) -> None:
    for x, colour, dash, text in (
        (_LEFT, HAND, "5 3", "by hand"),
        (_LEFT + 120, SOUND, "", "by sound"),
    ):
        canvas.box(x, 6, 26, 12, colour, colour, 0.18, dash)
        canvas.words((x + 34, 17), text, INK)


def _interval(q: Quantity, k: float) -> tuple[float, float]:
    return q.value - k * q.u, q.value + k * q.u
