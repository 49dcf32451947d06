"""The rows of the planning tables, from the core's values."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

from wayside.plan.result import Plan, SpeedCase, Window
from wayside_app.window import figures
from wayside_app.window.pages.sheet_table import Cell

Rows = list[tuple[Cell, ...]]

_OBVIOUS = 8.0


def pitch_rows(plan: Plan) -> Rows:
    """Return one row a speed: pitches, shifts, and how clearly they are heard."""
    return [_pitches(c) for c in plan.cases]


def _pitches(c: SpeedCase) -> tuple[Cell, ...]:
    p = c.passby
    steps = c.noticeable_steps
    return (
        Cell(_mps(p.speed_mps), bold=True),
        Cell(figures.plain(p.source_hz, 1)),
        Cell(figures.plain(p.approach_hz, 1), "hand", bold=True),
        Cell(figures.plain(p.recede_hz, 1), "hand", bold=True),
        Cell(figures.signed(p.approach_hz - p.source_hz, 1)),
        Cell(figures.signed(p.recede_hz - p.source_hz, 1)),
        Cell(_tr("{x} %").format(x=figures.plain(c.drop_percent, 1))),
        Cell(figures.plain(c.drop_semitones, 2)),
        Cell(figures.plain(c.drop_cents, 0)),
        Cell(
            _tr("{x} ×").format(x=figures.plain(steps, 1 if steps < 10 else 0)),
            bold=True,
            bar=min(steps / (2.0 * _OBVIOUS), 1.0),
        ),
    )


def window_rows(plan: Plan) -> Rows:
    """Return one row a speed: reading windows, the glide, and what reading there costs."""
    return [_windows(c) for c in plan.cases]


def _windows(c: SpeedCase) -> tuple[Cell, ...]:
    read = c.read_speed_percent
    return (
        Cell(_mps(c.passby.speed_mps), bold=True),
        _span(c.approach, c.needed_s),
        _span(c.recede, c.needed_s),
        Cell(_tr("{s} s").format(s=figures.plain(c.needed_s, 2))),
        Cell(_tr("{s} s").format(s=figures.plain(c.glide_s, 2)), "hand"),
        Cell("–" if read is None else _tr("{x} %").format(x=figures.signed(read, 1))),
    )


def camera_rows(plan: Plan) -> Rows:
    """Return one row a frame rate: marker distance needed, uncertainty reached."""
    r = plan.request
    return [
        (
            Cell(_tr("{n} frames/s").format(n=figures.general(t.frame_rate)), bold=True),
            Cell(_tr("{m} m").format(m=figures.plain(t.markers_m, 1)), "hand", bold=True),
            Cell(
                "–" if t.percent is None else _tr("{x} %").format(x=figures.plain(t.percent, 1)),
                "text" if t.percent is None or t.percent <= r.wanted_percent else "differ",
            ),
        )
        for t in plan.timing
    ]


def _span(window: Window | None, needed_s: float) -> Cell:
    if window is None:
        return Cell(_tr("none"), "differ", bold=True)
    text = _tr("{a} … {b} s").format(
        a=figures.plain(window.start_s, 2), b=figures.plain(window.stop_s, 2)
    )
    return Cell(text, "sound" if window.length_s >= needed_s else "differ")


def _mps(speed: float) -> str:
    return _tr("{v} m/s").format(v=figures.plain(speed, 2))


def _tr(text: str) -> str:
    return QCoreApplication.translate("Plan", text)
