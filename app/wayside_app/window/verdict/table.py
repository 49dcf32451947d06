"""The side-by-side table: one row a quantity, one column a witness."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from wayside_app.window.theme.looks import LIGHT, Look
from wayside_app.window.verdict.findings import AGREE, DIFFER, UNSURE, FindingRow

_BOLD = (1, 2, 5)
_SIZES = (1.15, 1.05, 0.95)


class SideBySide(QTableWidget):
    """Read-only; a selection is copied as tab-separated text."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, 6, parent)
        self.setAccessibleName(self.tr("Prediction and measurement side by side"))
        self.setHorizontalHeaderLabels(
            [
                "",
                self.tr("by hand"),
                self.tr("by sound"),
                self.tr("windows"),
                self.tr("sound − hand"),
                self.tr("agree?"),
            ]
        )
        self.verticalHeader().hide()
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setStretchLastSection(True)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setHighlightSections(False)
        self._look = LIGHT
        self._size = 11.0
        self._rows: Sequence[FindingRow] = ()

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self._look = look
        self._size = font.pointSizeF()
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """Choose the largest text with which all columns are seen."""
        for share in _SIZES:
            self._write(self._size * share)
            width = sum(self.columnWidth(c) for c in range(self.columnCount()))
            if width <= self.viewport().width():
                break
        content = sum(self.rowHeight(row) for row in range(self.rowCount()))
        self.setMinimumHeight(self.horizontalHeader().sizeHint().height() + content + 6)

    def show_rows(self, rows: Sequence[FindingRow]) -> None:
        """Show the rows."""
        if tuple(rows) != tuple(self._rows):
            self._rows = rows
            self._fit()

    def _write(self, size: float) -> None:
        look = self._look
        header = self.horizontalHeader()
        # each cell that is set would have every column measured anew
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        fonts = [QFont(self.font()) for _ in range(self.columnCount())]
        for column, font in enumerate(fonts):
            font.setPointSizeF(size)
            font.setBold(column in _BOLD)
        tones = {AGREE: look.agree, DIFFER: look.differ, UNSURE: look.unsure}
        self.setRowCount(len(self._rows))
        for at, row in enumerate(self._rows):
            verdict = tones.get(row.tone, look.text)
            cells = (
                (row.name, look.text),
                (row.hand or "–", look.hand),
                (row.sound or "–", look.sound),
                (row.windows or "–", look.sound),
                (row.difference or "–", look.text),
                (row.verdict or "–", verdict),
            )
            for column, (text, colour) in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setForeground(QColor(colour))
                item.setFont(fonts[column])
                self.setItem(at, column, item)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.resizeRowsToContents()
        self.resizeColumnsToContents()

    def keyPressEvent(self, event: object) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):  # type: ignore[attr-defined]
            QApplication.clipboard().setText(self.selected_text())
        else:
            super().keyPressEvent(event)  # type: ignore[arg-type]

    def selected_text(self) -> str:
        """Return the selected cells, tab-separated; the whole table when none are."""
        ranges = self.selectedRanges()
        if not ranges:
            rows, columns = range(self.rowCount()), range(self.columnCount())
        else:
            rows = range(ranges[0].topRow(), ranges[0].bottomRow() + 1)
            columns = range(ranges[0].leftColumn(), ranges[0].rightColumn() + 1)
        lines = []
        for row in rows:
            items = (self.item(row, column) for column in columns)
            lines.append("\t".join("" if item is None else item.text() for item in items))
        return "\n".join(lines)
