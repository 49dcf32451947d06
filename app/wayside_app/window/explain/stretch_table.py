"""The ranked list: one entry a row, with how far it would have to be stretched as a bar."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QWidget

from wayside.compare.explain import FAR_FETCHED
from wayside.compare.result import Explanation
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.pages.sheet_table import Cell, SheetTable
from wayside_app.window.words import said

_LONGEST_BAR = 2.0 * FAR_FETCHED


class StretchTable(SheetTable):
    """Shows explanations in their order; each row's sentence is what a screen reader says."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            _tr("What would explain it, likeliest first"),
            (
                "",
                _tr("entry"),
                _tr("you gave"),
                _tr("it would need"),
                _tr("stretch"),
                _tr("explains it?"),
            ),
            wide=1,
            left=(0, 1, 5),
            parent=parent,
        )

    def show_explanations(self, found: Sequence[Explanation]) -> None:
        """Show the list."""
        self.show_rows([_row(rank, e) for rank, e in enumerate(found, 1)])


def _row(rank: int, e: Explanation) -> tuple[Cell, ...]:
    given = Quantity(e.given, e.u, e.unit)
    name = said(e.label)
    if e.assumed:
        name = _tr("{name} (assumed)").format(name=name)
    stretch, bar = _stretch(e)
    return (
        Cell(str(rank), "quiet"),
        Cell(name, bold=e.explains, spoken=said(e.sentence)),
        Cell(figures.full(given), "hand"),
        Cell(figures.full(e.needed), "sound", bold=e.explains),
        Cell(stretch, bar=bar),
        Cell(_verdict(e), "text" if e.explains else "quiet", bold=e.explains),
    )


def _stretch(e: Explanation) -> tuple[str, float]:
    if e.sigmas is None:
        return _tr("given as exact"), -1.0
    size = abs(e.sigmas)
    places = 1 if size < 100 else 0
    return f"{figures.plain(size, places)} u", min(size / _LONGEST_BAR, 1.0)


def _verdict(e: Explanation) -> str:
    if not e.explains:
        return _tr("no")
    if e.sigmas is None:
        return _tr("if miscounted")
    if abs(e.sigmas) > FAR_FETCHED:
        return _tr("far-fetched")
    return "✓ " + _tr("yes")


def _tr(text: str) -> str:
    return QCoreApplication.translate("Explain", text)
