"""A read-only table on a sheet: as tall as its rows, copied as text, with bars where wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QKeySequence, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from wayside_app.window.theme.looks import LIGHT, Look, blend

_BAR = int(Qt.ItemDataRole.UserRole)
_PADDING = 6


@dataclass(frozen=True)
class Cell:
    """One cell.

    Parameters
    ----------
    text : str
    colour : str
        Name of a colour of the look: ``"text"``, ``"hand"``, ``"quiet"`` ...
    bold : bool
    bar : float
        Length of a bar behind the text, 0 to 1; negative for no bar.
    spoken : str
        What a screen reader says, if more than the text.
    """

    text: str
    colour: str = "text"
    bold: bool = False
    bar: float = -1.0
    spoken: str = ""


class SheetTable(QTableWidget):
    """Shows rows of cells.

    Parameters
    ----------
    name : str
        Accessible name.
    columns : sequence of str
        Headings.
    wide : int
        The column that wraps its text where there is not enough room.
    left : sequence of int
        Columns set flush left; the others are numbers and flush right.
    """

    def __init__(
        self,
        name: str,
        columns: Sequence[str],
        wide: int = 0,
        left: Sequence[int] = (0,),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(0, len(columns), parent)
        self.setAccessibleName(name)
        self._columns = tuple(columns)
        self._wide, self._left = wide, frozenset(left)
        self._look: Look = LIGHT
        self._points = 11.0
        self._rows: tuple[tuple[Cell, ...], ...] = ()
        self._fitted = (0, -1)
        self.verticalHeader().hide()
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ContiguousSelection)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.setWordWrap(True)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setItemDelegate(_Bars(self))
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setHighlightSections(False)
        header.setMinimumSectionSize(20)
        for at, title in enumerate(columns):
            item = QTableWidgetItem(title)
            item.setTextAlignment(self._alignment(at))
            self.setHorizontalHeaderItem(at, item)

    def set_look(self, look: Look, points: float) -> None:
        """Take the colours and the text size."""
        self._look, self._points = look, points
        rows, self._rows = self._rows, ()
        self.show_rows(rows)

    def show_rows(self, rows: Sequence[Sequence[Cell]]) -> None:
        """Show the rows; cells that are the same stay as they are."""
        new = tuple(tuple(row) for row in rows)
        old, self._rows = self._rows, new
        if old == new:
            return
        self.setUpdatesEnabled(False)
        self.setRowCount(len(new))
        for at, row in enumerate(new):
            before = old[at] if at < len(old) else ()
            for column, cell in enumerate(row):
                if column >= len(before) or before[column] != cell:
                    self._write(at, column, cell)
        self._fit()
        self.setUpdatesEnabled(True)

    @property
    def look(self) -> Look:
        """The colours."""
        return self._look

    def text(self, row: int, column: int) -> str:
        """Return what a cell says."""
        return self._rows[row][column].text

    def whole_text(self) -> str:
        """Return the selected cells, tab-separated; the whole table with headings if none are."""
        ranges = self.selectedRanges()
        if not ranges:
            lines = [list(self._columns), *([cell.text for cell in row] for row in self._rows)]
        else:
            r = ranges[0]
            lines = [
                [cell.text for cell in row[r.leftColumn() : r.rightColumn() + 1]]
                for row in self._rows[r.topRow() : r.bottomRow() + 1]
            ]
        return "\n".join("\t".join(line) for line in lines)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.matches(QKeySequence.StandardKey.Copy):
            QApplication.clipboard().setText(self.whole_text())
        elif event.key() == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self.viewport().width() != self._fitted[0]:
            self._fit()

    def _write(self, row: int, column: int, cell: Cell) -> None:
        item = self.item(row, column)
        if item is None:
            item = QTableWidgetItem()
            item.setTextAlignment(self._alignment(column))
            self.setItem(row, column, item)
        item.setText(cell.text)
        item.setForeground(QColor(getattr(self._look, cell.colour)))
        font = self.font()
        font.setPointSizeF(self._points)
        font.setBold(cell.bold)
        item.setFont(font)
        item.setData(_BAR, cell.bar)
        item.setData(Qt.ItemDataRole.AccessibleTextRole, cell.spoken or cell.text)

    def _alignment(self, column: int) -> Qt.AlignmentFlag:
        side = Qt.AlignmentFlag.AlignLeft if column in self._left else Qt.AlignmentFlag.AlignRight
        return side | Qt.AlignmentFlag.AlignVCenter

    def _fit(self) -> None:
        """Give every column its width, the wide one what is left, and the table its height."""
        room = self.viewport().width()
        self.resizeColumnsToContents()
        taken = sum(self.columnWidth(c) for c in range(self.columnCount()) if c != self._wide)
        natural = self.columnWidth(self._wide)
        least = min(natural, round(11 * self._points))
        self.setColumnWidth(self._wide, max(least, min(natural, room - taken)))
        for row in range(self.rowCount()):
            self.setRowHeight(row, self._tall(row))
        rows = sum(self.rowHeight(row) for row in range(self.rowCount()))
        head = self.horizontalHeader().sizeHint().height()
        bar = self.horizontalScrollBar().sizeHint().height() if taken + least > room else 0
        height = head + rows + bar + 6
        self._fitted = (room, height)
        if self.height() != height or self.minimumHeight() != height:
            self.setFixedHeight(height)

    def _tall(self, row: int) -> int:
        """Return how tall a row must be for its wrapped text; the style's own guess is short."""
        item = self.item(row, self._wide)
        if item is None:
            return self.rowHeight(row)
        room = max(self.columnWidth(self._wide) - 2 * _PADDING - 4, 20)
        flags = int(Qt.TextFlag.TextWordWrap)
        box = QFontMetrics(item.font()).boundingRect(0, 0, room, 4000, flags, item.text())
        return box.height() + 2 * _PADDING


class _Bars(QStyledItemDelegate):
    """Paints a bar behind a cell's text."""

    def __init__(self, table: SheetTable) -> None:
        super().__init__(table)
        self._table = table

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        length = index.data(_BAR)
        if length is not None and length >= 0:
            look = self._table.look
            room = QRectF(option.rect).adjusted(3, 4, -3, -4)
            painter.fillRect(room, QColor(blend(look.card, look.text, 0.06)))
            room.setWidth(max(1.5, room.width() * min(length, 1.0)))
            painter.fillRect(room, QColor(blend(look.card, look.hand, 0.45)))
        super().paint(painter, option, index)
