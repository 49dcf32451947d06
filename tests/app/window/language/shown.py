"""Every text that a window shows or tells a screen reader."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QComboBox,
    QGraphicsView,
    QLabel,
    QLineEdit,
    QMenu,
    QProgressBar,
    QTableView,
    QTextEdit,
    QWidget,
)

ENGLISH = re.compile(
    r"(?<![.\w])(the|of|and|is|are|with|from|to|than|that|not|which|or|by|its|be|at|it|this|what|how"
    r"|speed|pitch|sound|time|film frame|marker|approach|recede|open|close|save|number|value)\b",
    re.IGNORECASE,
)
"""Words that no German text here holds; the names of entries in a file are left out."""


def english_in(texts: Iterator[str]) -> list[str]:
    """Return the texts that hold English words."""
    return sorted({t for t in texts if ENGLISH.search(t.replace("&", ""))})


def every_text(window: QWidget) -> Iterator[str]:
    """Yield the texts of a window and of everything in it."""
    for widget in (window, *window.findChildren(QWidget)):
        if _of_the_plot_library(widget):
            continue
        yield widget.windowTitle()
        yield widget.toolTip()
        yield widget.accessibleName()
        yield widget.accessibleDescription()
        yield from _own(widget)


def _of_the_plot_library(widget: QWidget) -> bool:
    """Tell whether it belongs to the plot library's own settings, which are never shown."""
    part: QWidget | None = widget
    while part is not None:
        if part.objectName().endswith("Group"):
            return True
        part = part.parentWidget()
    return False


def _own(widget: QWidget) -> Iterator[str]:
    if isinstance(widget, QLabel | QAbstractButton):
        yield widget.text()
    elif isinstance(widget, QLineEdit):
        yield widget.text()
        yield widget.placeholderText()
    elif isinstance(widget, QComboBox):
        for at in range(widget.count()):
            yield widget.itemText(at)
            yield str(widget.itemData(at, Qt.ItemDataRole.ToolTipRole) or "")
    elif isinstance(widget, QMenu):
        yield from (action.text() for action in widget.actions())
    elif isinstance(widget, QProgressBar):
        yield widget.format()
    elif isinstance(widget, QTextEdit):
        yield widget.toPlainText()
    elif isinstance(widget, QTableView):
        yield from _table(widget)
    elif isinstance(widget, QGraphicsView) and widget.scene() is not None:
        for item in widget.scene().items():
            if isinstance(item, pg.AxisItem):
                yield item.labelText
            elif hasattr(item, "toPlainText"):
                yield item.toPlainText()


def _table(table: QTableView) -> Iterator[str]:
    model = table.model()
    across = Qt.Orientation.Horizontal
    for column in range(model.columnCount()):
        yield str(model.headerData(column, across) or "")
        for row in range(min(model.rowCount(), 200)):
            place = model.index(row, column)
            for role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
                yield str(model.data(place, role) or "")
