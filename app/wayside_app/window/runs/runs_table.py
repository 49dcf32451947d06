"""The view of the table of runs: sorted by its headings, worked by keys as well."""

from __future__ import annotations

from PySide6.QtCore import (
    QItemSelectionModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QKeyEvent, QKeySequence, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from wayside_app.window.runs.model import KEY_ROLE, NAME, REMARK, RunsModel, RunsProxy
from wayside_app.window.theme.looks import Look

_LEAST_ROWS, _MOST_ROWS = 3, 20
_BELOW_PX = 560
_APART_PX = 8


class _Plain(QStyledItemDelegate):
    """Keeps the colours of who speaks where a row is chosen; the row itself is framed enough."""

    def initStyleOption(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        super().initStyleOption(option, index)
        ink = index.data(Qt.ItemDataRole.ForegroundRole)
        if ink is not None:
            option.palette.setColor(QPalette.ColorRole.HighlightedText, ink)
        option.state &= ~QStyle.StateFlag.State_HasFocus


class RunsTable(QTableView):
    """Shows the runs.

    Signals
    -------
    show_wanted(key)
        The user wants to see this run.
    remove_wanted()
        The chosen runs are to go.
    chosen()
        Other runs are chosen.
    """

    show_wanted = Signal(int)
    remove_wanted = Signal()
    chosen = Signal()

    def __init__(self, model: RunsModel, proxy: RunsProxy, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows, self._proxy = model, proxy
        self.setAccessibleName(self.tr("The runs, one row each"))
        self.setModel(proxy)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setSortingEnabled(True)
        self.sortByColumn(-1, Qt.SortOrder.AscendingOrder)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.setItemDelegate(_Plain(self))
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setStretchLastSection(True)
        header.setHighlightSections(False)
        header.setSectionsClickable(True)
        self.doubleClicked.connect(lambda index: self.show_wanted.emit(index.data(KEY_ROLE)))
        self.selectionModel().selectionChanged.connect(lambda *_: self.chosen.emit())

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self._rows.set_look(look)
        self.setFont(font)
        self.verticalHeader().setDefaultSectionSize(round(2.1 * font.pointSizeF() + 8))
        self.fit()

    def fit(self) -> None:
        """Give columns the width of their texts and the table the height of its rows."""
        self.resizeColumnsToContents()
        for column in range(REMARK):
            self.setColumnWidth(column, self.columnWidth(column) + _APART_PX)
        tall = self.verticalHeader().defaultSectionSize()
        room = min(max((self.window().height() - _BELOW_PX) // tall, 6), _MOST_ROWS)
        rows = min(max(self._proxy.rowCount(), _LEAST_ROWS), room)
        head = self.horizontalHeader().sizeHint().height()
        self.setFixedHeight(head + rows * tall + 14)

    @property
    def keys(self) -> frozenset[int]:
        """Keys of the chosen runs."""
        rows = self.selectionModel().selectedRows(NAME)
        return frozenset(index.data(KEY_ROLE) for index in rows)

    @property
    def current_key(self) -> int | None:
        """Key of the run on which the keyboard stands."""
        index = self.currentIndex()
        return index.data(KEY_ROLE) if index.isValid() else None

    def choose(self, keys: frozenset[int]) -> None:
        """Choose runs, as far as they are in sight."""
        selection = self.selectionModel()
        flags = QItemSelectionModel.SelectionFlag
        selection.clearSelection()
        first = True
        for at in range(self._proxy.rowCount()):
            index = self._proxy.index(at, NAME)
            if index.data(KEY_ROLE) in keys:
                selection.select(index, flags.Select | flags.Rows)
                if first:
                    selection.setCurrentIndex(index, flags.NoUpdate)
                first = False

    def as_text(self) -> str:
        """Return the rows in sight, tab-separated, with their headings."""
        columns = range(REMARK + 1)
        orientation = Qt.Orientation.Horizontal
        heads = (str(self._rows.headerData(c, orientation)) for c in columns)
        lines = ["\t".join(head.replace("\n", " ") for head in heads)]
        lines += [
            "\t".join(str(self._proxy.index(at, c).data()).strip(" ▸") for c in columns)
            for at in range(self._proxy.rowCount())
        ]
        return "\n".join(lines)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if self.current_key is not None:
                self.show_wanted.emit(self.current_key)
        elif event.key() == Qt.Key.Key_Delete:
            self.remove_wanted.emit()
        elif event.matches(QKeySequence.StandardKey.Copy):
            QApplication.clipboard().setText(self.as_text())
        elif event.key() == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)
