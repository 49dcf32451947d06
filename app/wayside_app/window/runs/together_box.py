"""Below the list: what the runs in sight say together, as two tables and in words."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QVBoxLayout, QWidget

from wayside_app.window.controls import text_label
from wayside_app.window.pages.sheet_table import SheetTable
from wayside_app.window.runs.together_tables import (
    AllTogether,
    pair_headings,
    pair_rows,
    pool_headings,
    pool_rows,
    sentences,
)
from wayside_app.window.theme.looks import Look


class TogetherBox(QWidget):
    """Shows means and pairs."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.heading = text_label("step-title")
        self.means = SheetTable(
            self.tr("What the runs say together"), pool_headings(), wide=0, parent=self
        )
        self.pairs_heading = text_label("step-title", self.tr("Wind, from runs out and back"))
        self.pairs = SheetTable(
            self.tr("Wind from runs out and back"), pair_headings(), wide=0, parent=self
        )
        self.told = text_label("", wrap=True)
        self.told.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        for part in (self.heading, self.means, self.pairs_heading, self.pairs, self.told):
            column.addWidget(part)

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        for table in (self.means, self.pairs):
            table.set_look(look, font.pointSizeF())

    def show_together(self, shown: AllTogether, count: int, total: int) -> None:
        """Show what `count` runs of `total` say together."""
        self.heading.setText(
            self.tr("All runs together")
            if count == total
            else self.tr("The {count} runs in sight together").format(count=count)
        )
        self.means.show_rows(pool_rows(shown.pools))
        self.means.setVisible(bool(shown.pools))
        pairs = pair_rows(shown.pairs)
        self.pairs.show_rows(pairs)
        for part in (self.pairs, self.pairs_heading):
            part.setVisible(bool(pairs))
        told = sentences(shown)
        self.told.setText(told)
        self.told.setVisible(bool(told))
        self.means.setAccessibleDescription(told)
