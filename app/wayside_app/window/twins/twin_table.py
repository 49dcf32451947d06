"""One table of numbers in a window of its own, with copy and save."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QPushButton,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from wayside.files import write_atomically
from wayside_app.window import figures
from wayside_app.window.controls import text_label

FloatArray = npt.NDArray[np.float64]
Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True)
class Twin:
    """The numbers of one plot.

    Parameters
    ----------
    title : str
        What the plot shows.
    heads : tuple of str
        Column heads with units.
    columns : tuple of ndarray, shape (n,) each
    """

    title: str
    heads: tuple[str, ...]
    columns: tuple[FloatArray, ...]

    @property
    def n_rows(self) -> int:
        """Length of the columns."""
        return min((len(column) for column in self.columns), default=0)


class TwinModel(QAbstractTableModel):
    """Columns of numbers for a table view."""

    def __init__(self, twin: Twin) -> None:
        super().__init__()
        self.twin = twin

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 (Qt's signature)
        return 0 if parent.isValid() else self.twin.n_rows

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self.twin.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if role == Qt.ItemDataRole.DisplayRole:
            return number(float(self.twin.columns[index.column()][index.row()]))
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return self.twin.heads[section]
        return None


class TwinTable(QDialog):
    """Shows a twin; the window stays usable beside it."""

    def __init__(self, twin: Twin, folder: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(twin.title)
        self.twin, self._folder = twin, folder
        self._model = TwinModel(twin)
        self._model.setParent(self)
        self.view = QTableView(self)
        self.view.setModel(self._model)
        self.view.setAccessibleName(twin.title)
        self.view.verticalHeader().hide()
        self.view.resizeColumnsToContents()
        self.copy_button = QPushButton(self.tr("Copy"), self)
        self.save_button = QPushButton(self.tr("Save as CSV …"), self)
        self.close_button = QPushButton(self.tr("Close"), self)
        self.fault = text_label("fault", "", wrap=True)
        self.fault.hide()
        buttons = QHBoxLayout()
        buttons.addWidget(self.copy_button)
        buttons.addWidget(self.save_button)
        buttons.addStretch(1)
        buttons.addWidget(self.close_button)
        column = QVBoxLayout(self)
        column.addWidget(text_label("title", twin.title, wrap=True))
        column.addWidget(self.view, 1)
        column.addWidget(self.fault)
        column.addLayout(buttons)
        self.copy_button.clicked.connect(self.copy)
        self.save_button.clicked.connect(self.ask_save)
        self.close_button.clicked.connect(self.close)
        QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self, self.copy)
        self.resize(520, 560)

    def copy(self) -> None:
        """Put the whole table on the clipboard, tab-separated."""
        QApplication.clipboard().setText(as_text(self.twin, "\t"))

    def ask_save(self) -> None:
        """Let the user choose where to save the table."""
        path, _ = QFileDialog.getSaveFileName(
            self, self.tr("Save as CSV"), str(self._folder / "table.csv"), "CSV (*.csv)"
        )
        if not path:
            return
        try:
            write_atomically(Path(path), as_text(self.twin, ",").encode("utf-8"))
        except OSError as error:
            reason = (error.strerror or "unknown reason").lower()
            text = self.tr("{file} was not saved ({reason}); choose another place.")
            self.fault.setText(f"⚠ {text.format(file=Path(path).name, reason=reason)}")
            self.fault.show()
            return
        self.fault.hide()


def number(value: float) -> str:
    """Write a number as in the table: six significant digits at most."""
    return figures.local(f"{value:.6g}".replace("-", "−")) if np.isfinite(value) else "–"


def as_text(twin: Twin, separator: str) -> str:
    """Return the table as text, with a decimal point, whatever the language."""
    lines = [separator.join(_quoted(head, separator) for head in twin.heads)]
    for row in range(twin.n_rows):
        values: Sequence[float] = [float(column[row]) for column in twin.columns]
        lines.append(separator.join(f"{v:.9g}" if np.isfinite(v) else "" for v in values))
    return "\n".join(lines) + "\n"


def _quoted(text: str, separator: str) -> str:
    return f'"{text}"' if separator in text or '"' in text else text
