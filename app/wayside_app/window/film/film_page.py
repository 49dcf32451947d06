"""The film as a sheet behind the recording."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QWidget

from wayside_app.window.bench import Bench
from wayside_app.window.film.film_panel import FilmPanel
from wayside_app.window.pages.page import Page
from wayside_app.window.theme.looks import Look

_ROOMY_PX = 1500


class FilmPage(Page):
    """Holds the film panel; in a small window it takes the form's room too."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(self.tr("The film"), "1", "number-hand", parent)
        self.panel = FilmPanel(bench, self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.addWidget(self.panel)
        self.panel.back_wanted.connect(self.back_wanted)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def first_stop(self) -> QWidget:
        """Return what gets the keyboard when the sheet is turned to."""
        return self.panel.view

    @property
    def needs_room(self) -> bool:  # type: ignore[override]
        """True in a window too narrow for form and picture side by side."""
        return self.window().width() < _ROOMY_PX

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        super().set_look(look, font)
        self.panel.set_look(look, font)
