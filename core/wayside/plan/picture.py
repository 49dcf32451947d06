"""The plan as one picture (SVG): the track to scale, and the pitch to expect."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterable
from xml.sax.saxutils import escape

from wayside.hand.whole_file import write_whole
from wayside.plan.result import Plan, SpeedCase, Window

WIDTH, HEIGHT = 900, 620
_LEFT, _RIGHT = 80, 30
_TRACK_TOP, _TRACK_BOTTOM = 60, 250
_CURVE_TOP, _CURVE_BOTTOM = 310, 560

_INK, _SOFT, _APPROACH, _RECEDE, _SOURCE = "#222222", "#8a8a8a", "#9a4f12", "#1f5f8b", "#4a4a4a"


def plan_svg(plan: Plan) -> str:
    """Return the picture as SVG text."""
    case = plan.cases[len(plan.cases) // 2]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        f'width="{WIDTH}" height="{HEIGHT}" role="img" font-family="sans-serif" font-size="13">',
        "<title>Planned pass-by</title>",
        f"<desc>{escape(_description(plan, case))}</desc>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        *_track(plan, case),
        *_curve(plan, case),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def write_svg(plan: Plan, path: str | os.PathLike[str]) -> None:
    """Write the picture; an old file is replaced only once the new one is complete.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    write_whole(path, plan_svg(plan))


def _description(plan: Plan, case: SpeedCase) -> str:
    p, r = case.passby, plan.request
    return (
        f"Above: the track seen from the top, {r.before_m:g} m before and {r.after_m:g} m after "
        f"the microphone, which stands {r.closest_m:g} m away. Below: the pitch heard at "
        f"{p.speed_mps:.3g} m/s, falling from {p.approach_hz:.1f} to {p.recede_hz:.1f} Hz."
    )


def _track(plan: Plan, case: SpeedCase) -> list[str]:
    r = plan.request
    scale = (WIDTH - _LEFT - _RIGHT) / (r.before_m + r.after_m)
    # one scale for both directions, so that the geometry is true; a near microphone stays near
    line_y = _TRACK_TOP + 50

    def x(metres: float) -> float:
        return _LEFT + (metres + r.before_m) * scale

    mic_y = line_y + r.closest_m * scale
    shown_y = min(mic_y, _TRACK_BOTTOM - 25.0)
    parts = [_text(_LEFT, _TRACK_TOP - 30, "Track from above, to scale", weight="bold")]
    for window, colour, name in (
        (case.approach, _APPROACH, "read approach"),
        (case.recede, _RECEDE, "read recede"),
    ):
        if window is not None:
            left, right = x(window.start_m), x(window.stop_m)
            parts.append(_box(left, line_y - 12, right - left, 24, colour))
            parts.append(_text(0.5 * (left + right), line_y - 18, name, colour, "middle"))
    parts += [
        _line(x(-r.before_m), line_y, x(r.after_m), line_y, _INK, 2),
        f'<path d="M {x(r.after_m) - 10:.1f} {line_y - 6} L {x(r.after_m):.1f} {line_y} '
        f'L {x(r.after_m) - 10:.1f} {line_y + 6}" fill="none" stroke="{_INK}" stroke-width="2"/>',
        _line(x(0), line_y, x(0), shown_y, _SOFT, 1, "4 3"),
        f'<circle cx="{x(0):.1f}" cy="{shown_y:.1f}" r="5" fill="{_INK}"/>',
        _text(x(0) + 10, shown_y + 4, f"microphone, {r.closest_m:g} m from the track"),
    ]
    if mic_y > shown_y:
        parts.append(_text(x(0) + 10, shown_y + 20, "(further down than drawn)", _SOFT))
    if r.markers_m is not None:
        for metres in (-0.5 * r.markers_m, 0.5 * r.markers_m):
            parts.append(_line(x(metres), line_y - 16, x(metres), line_y + 16, _INK, 3))
        parts.append(_text(x(-0.5 * r.markers_m), line_y + 32, "marker", _INK, "middle"))
    bar = _nice((r.before_m + r.after_m) / 6.0)
    y = _TRACK_BOTTOM + 10
    parts += [
        _line(_LEFT, y, _LEFT + bar * scale, y, _INK, 3),
        _text(_LEFT + bar * scale + 8, y + 4, f"{bar:g} m"),
    ]
    return parts


def _curve(plan: Plan, case: SpeedCase) -> list[str]:
    ends = [_cents(f, c) for c in plan.cases for f in (c.passby.approach_hz, c.passby.recede_hz)]
    pad = 0.12 * (max(ends) - min(ends))
    low, high = min(ends) - pad, max(ends) + pad
    start, stop = float(case.times_s[0]), float(case.times_s[-1])

    def x(t: float) -> float:
        return _LEFT + (t - start) / (stop - start) * (WIDTH - _LEFT - _RIGHT)

    def y(cents: float) -> float:
        return _CURVE_BOTTOM - (cents - low) / (high - low) * (_CURVE_BOTTOM - _CURVE_TOP)

    thin = " (thin: slowest and fastest)" if len(plan.cases) > 1 else ""
    head = f"Pitch heard at {case.passby.speed_mps:.3g} m/s, in cents from the source{thin}"
    return [
        _text(_LEFT, _CURVE_TOP - 14, head, weight="bold"),
        f'<rect x="{_LEFT}" y="{_CURVE_TOP}" width="{WIDTH - _LEFT - _RIGHT}" '
        f'height="{_CURVE_BOTTOM - _CURVE_TOP}" fill="none" stroke="{_SOFT}"/>',
        *(_shade(x, w, c) for w, c in _coloured(case)),
        *_limits(case, y),
        *(_one_curve(c, x, y, start, stop, 2.5 if c is case else 1.0) for c in plan.cases),
        *_axes(x, y, (start, stop), (low, high)),
    ]


def _cents(hz: float, case: SpeedCase) -> float:
    return 1200.0 * math.log2(hz / case.passby.source_hz)


def _limits(case: SpeedCase, y: Callable[[float], float]) -> list[str]:
    p, right = case.passby, WIDTH - _RIGHT
    parts = []
    for hz, colour, name, at, anchor, below in (
        (p.approach_hz, _APPROACH, "approach", right - 6, "end", -6),
        (p.source_hz, _SOURCE, "source", right - 6, "end", -6),
        (p.recede_hz, _RECEDE, "recede", _LEFT + 6, "start", 16),
    ):
        level = y(_cents(hz, case))
        parts.append(_line(_LEFT, level, right, level, colour, 1, "5 4"))
        parts.append(_text(at, level + below, f"{name} {hz:.1f} Hz", colour, anchor))
    return parts


def _one_curve(
    case: SpeedCase,
    x: Callable[[float], float],
    y: Callable[[float], float],
    start: float,
    stop: float,
    width: float,
) -> str:
    points = " ".join(
        f"{x(float(t)):.1f},{y(_cents(float(f), case)):.1f}"
        for t, f in zip(case.times_s, case.pitch_hz, strict=True)
        if start <= t <= stop
    )
    return f'<polyline points="{points}" fill="none" stroke="{_INK}" stroke-width="{width}"/>'


def _axes(
    x: Callable[[float], float],
    y: Callable[[float], float],
    times: tuple[float, float],
    cents: tuple[float, float],
) -> list[str]:
    parts = []
    for t in _ticks(*times, 8):
        parts.append(_line(x(t), _CURVE_BOTTOM, x(t), _CURVE_BOTTOM + 5, _SOFT, 1))
        parts.append(_text(x(t), _CURVE_BOTTOM + 20, _signed(t), _INK, "middle"))
    for level in _ticks(*cents, 5):
        parts.append(_line(_LEFT - 5, y(level), _LEFT, y(level), _SOFT, 1))
        parts.append(_text(_LEFT - 9, y(level) + 4, _signed(level), _INK, "end"))
    words = "time from the passing (s)"
    return [*parts, _text(0.5 * WIDTH, _CURVE_BOTTOM + 42, words, _INK, "middle")]


def _ticks(low: float, high: float, about: int) -> list[float]:
    step = _nice((high - low) / about)
    return [k * step for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _signed(x: float) -> str:
    return f"{round(x, 9):g}".replace("-", "−")


def _coloured(case: SpeedCase) -> Iterable[tuple[Window, str]]:
    return [(w, c) for w, c in ((case.approach, _APPROACH), (case.recede, _RECEDE)) if w]


def _shade(x: Callable[[float], float], window: Window, colour: str) -> str:
    left, right = x(window.start_s), x(window.stop_s)
    return _box(left, _CURVE_TOP, right - left, _CURVE_BOTTOM - _CURVE_TOP, colour)


def _box(left: float, top: float, width: float, height: float, colour: str) -> str:
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}" '
        f'fill="{colour}" fill-opacity="0.15"/>'
    )


def _line(
    x1: float, y1: float, x2: float, y2: float, colour: str, width: float, dash: str = ""
) -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'stroke="{colour}" stroke-width="{width:g}"{dashed}/>'
    )


def _text(
    x: float, y: float, words: str, colour: str = _INK, anchor: str = "start", weight: str = ""
) -> str:
    bold = f' font-weight="{weight}"' if weight else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" fill="{colour}" text-anchor="{anchor}"{bold}>'
        f"{escape(words)}</text>"
    )


def _nice(x: float) -> float:
    """Return the largest of 1, 2, 5 times a power of ten that is not above `x`."""
    power = 10.0 ** math.floor(math.log10(x))
    return power * max(m for m in (1.0, 2.0, 5.0) if m * power <= x * (1 + 1e-9))
