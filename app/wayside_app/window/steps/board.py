"""Cards side by side in as many columns as fit, read from left to right and then down."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from wayside.hand.steps import Step
from wayside_app.window.steps.step_card import StepCard
from wayside_app.window.theme.looks import LIGHT, Look

_CARD_EMS = 18.5
_MOST_COLUMNS = 4


class Board(QWidget):
    """Shows steps; cards are kept and filled anew, so that typing is followed at once."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.cards: list[StepCard] = []
        self._shown = 0
        self._columns = 0
        self._look: Look = LIGHT
        self._points = 11.0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(6)

    def show_steps(self, first: Sequence[Step], numbered: Sequence[Step]) -> None:
        """Show steps: some without a number, then the numbered ones."""
        steps = [(step, 0) for step in first]
        steps += [(step, at) for at, step in enumerate(numbered, 1)]
        while len(self.cards) < len(steps):
            card = StepCard(self)
            card.set_look(self._look, self._points)
            self.cards.append(card)
        for card, (step, number) in zip(self.cards, steps, strict=False):
            card.show_step(step, number)
        if len(steps) != self._shown:
            self._shown = len(steps)
            self._lay_out()

    def set_look(self, look: Look, points: float) -> None:
        """Take the colours and the text size."""
        self._look, self._points = look, points
        for card in self.cards:
            card.set_look(look, points)
        self._lay_out()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._fitting() != self._columns:
            self._lay_out()

    def _fitting(self) -> int:
        em = self.fontMetrics().height() * 0.82
        return min(max(1, int(self.width() // (_CARD_EMS * em))), _MOST_COLUMNS)

    def _lay_out(self) -> None:
        self._columns = self._fitting()
        for column in range(self._grid.columnCount()):
            self._grid.setColumnStretch(column, 0)
        for at, card in enumerate(self.cards):
            self._grid.removeWidget(card)
            card.setVisible(at < self._shown)
            if at < self._shown:
                row, column = divmod(at, self._columns)
                self._grid.addWidget(card, row, column)
        for column in range(self._columns):
            self._grid.setColumnStretch(column, 1)
        self.setVisible(bool(self._shown))
        self._grid.setAlignment(Qt.AlignmentFlag.AlignTop)
