"""The rows of the tables on the sheet, from the core's values."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import QCoreApplication

from wayside.hand.methods import NearReading, Shortcut
from wayside.hand.predict import FormulaEffect, Prediction
from wayside.hand.wind import WindEffect
from wayside.physics.air import AIR_FORMULAS
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.pages.sheet_table import Cell
from wayside_app.window.words import said

Rows = list[tuple[Cell, ...]]

_SMALL = 0.01


def formula_rows(p: Prediction) -> Rows:
    """Return one row a formula for the speed of sound."""
    return [_formula_row(p, e) for e in p.formulas]


def _formula_row(p: Prediction, e: FormulaEffect) -> tuple[Cell, ...]:
    chosen = e.formula == p.setup.formula
    air = AIR_FORMULAS[e.formula]
    fine = Quantity(0.0, p.approach_hz.u / 10.0, "")
    shift = e.approach_hz - p.approach_hz.value
    name = said(air.label)
    return (
        Cell(f"✓ {name}" if chosen else name, bold=chosen),
        Cell(figures.plain(e.sound_speed_mps, 2), "hand", bold=chosen),
        Cell(figures.number(e.approach_hz, fine), "hand"),
        Cell(figures.number(e.recede_hz, fine), "hand"),
        Cell("–" if chosen else _change(shift)),
        Cell("–" if chosen or not p.approach_hz.u else _share(shift / p.approach_hz.u)),
    )


def wind_rows(effects: Sequence[WindEffect]) -> Rows:
    """Return one row a wind."""
    return [
        (
            Cell(f"✓ {said(e.label)}" if e.given else said(e.label), bold=e.given),
            Cell(figures.plain(e.approach_hz, 2), "hand"),
            Cell(figures.plain(e.recede_hz, 2), "hand"),
            Cell(_percent(e.both_percent)),
            Cell(_percent(e.one_percent)),
        )
        for e in effects
    ]


def shortcut_rows(shortcuts: Sequence[Shortcut]) -> Rows:
    """Return one row a shortcut."""
    return [_shortcut_row(s) for s in shortcuts]


def _shortcut_row(s: Shortcut) -> tuple[Cell, ...]:
    exact = abs(s.error) < 1e-9 * abs(s.exact)
    fine = Quantity(0.0, max(abs(s.error), 1e-4 * abs(s.exact)) / 3.0, "")
    return (
        Cell(_capital(said(s.way)), spoken=said(s.sentence)),
        Cell(said(s.label), "quiet"),
        Cell(figures.number(s.shortcut, fine)),
        Cell(figures.number(s.exact, fine), "hand"),
        Cell(_tr("exact") if exact else f"{_change(s.error)} {s.unit}", bold=True),
        Cell("–" if exact else _percent(s.percent)),
        Cell("–" if exact or not math.isfinite(s.share_of_u) else _share(s.share_of_u)),
    )


def near_rows(near: Sequence[NearReading]) -> Rows:
    """Return one row a reading position."""
    return [
        (
            Cell(
                _tr("{k} × d = {m} m").format(
                    k=figures.general(n.multiple), m=figures.general(n.position_m, 3)
                )
            ),
            Cell(_tr("± {s} s").format(s=figures.plain(n.time_s, 2))),
            Cell(figures.plain(n.approach_hz, 2)),
            Cell(figures.plain(n.recede_hz, 2)),
            Cell(figures.plain(n.speed_mps, 3)),
            Cell(_percent(n.speed_percent, 1), bold=True),
        )
        for n in near
    ]


def _change(x: float) -> str:
    return ("+" if x > 0 else "−" if x < 0 else "") + figures.local(f"{abs(x):.2g}")


def _share(x: float) -> str:
    if abs(x) < _SMALL:
        return _tr("under {x} u").format(x=figures.local(f"{_SMALL:g}"))
    return _tr("{x} u").format(x=figures.local(f"{abs(x):.2g}"))


def _percent(x: float | None, places: int = 2) -> str:
    if x is None:
        return "–"
    shown = round(x, places)
    return _tr("{x} %").format(x=figures.signed(shown, places) if shown else "0")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _tr(text: str) -> str:
    return QCoreApplication.translate("Choices", text)
