"""The table of runs as a model: one row a run, sorted and filtered by a proxy over it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QCoreApplication,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
)
from PySide6.QtGui import QColor, QFont

from wayside.quantity import Quantity
from wayside.review.row import FAILED, MEASURED, REFUSED, RunRow
from wayside_app.window import figures
from wayside_app.window.plain_text import plain_tip
from wayside_app.window.theme.looks import LIGHT, Look
from wayside_app.window.words import said

NAME, GROUP, WAY, HAND, SOUND, DIFFERENCE, E_N, VERDICT, SOURCE, REMARK = range(10)
KEY_ROLE = int(Qt.ItemDataRole.UserRole)
SORT_ROLE = KEY_ROLE + 1

ANY, AGREES, DIFFERS, UNSURE, ODD, NOTHING = "any", "agree", "differ", "unsure", "odd", "nothing"

_LAST = "\U0010ffff"
_Index = QModelIndex | QPersistentModelIndex


@dataclass(frozen=True)
class Line:
    """One run as the table shows it.

    Parameters
    ----------
    key : int
        Of the run.
    at : int
        Its place in the session.
    row : RunRow
    shown : bool
        True for the run that the window shows.
    doing : str
        What is being done with it; empty when nothing is.
    odd : tuple of str
        Why it stands out from the others, one sentence each.
    """

    key: int
    at: int
    row: RunRow
    shown: bool
    doing: str
    odd: tuple[str, ...]

    @property
    def kind(self) -> str:
        """The answer to the question of the verdict filter."""
        if self.row.outcome != MEASURED:
            return NOTHING
        return {"agree": AGREES, "disagree": DIFFERS}.get(self.row.overall, UNSURE)

    @property
    def remark(self) -> str:
        """The few words of the last column."""
        if self.doing:
            return self.doing
        if self.row.outcome == FAILED:
            return "⚠ " + _tr("cannot be used")
        if self.row.outcome == REFUSED:
            return _tr("no pass-by found")
        if self.odd:
            return "◆ " + _tr("stands out")
        return ""

    @property
    def sentences(self) -> tuple[str, ...]:
        """All that is to be said about it."""
        parts = (self.row.sentence, *self.odd, self.row.verdict, *self.row.warnings)
        return tuple(said(part) for part in dict.fromkeys(parts) if part)


def headings() -> tuple[str, ...]:
    """Return the headings of the columns."""
    return (
        _tr("run"),
        _tr("group"),
        _tr("way"),
        _tr("hand (m/s)"),
        _tr("sound (m/s)"),
        _tr("sound − hand"),
        _tr("norm. error"),
        _tr("agree?"),
        _tr("source (Hz)"),
        _tr("remark"),
    )


def ways() -> Mapping[str, str]:
    """Return the words for the ways a source may go."""
    return {"": "", "out": _tr("out"), "back": _tr("back")}


class RunsModel(QAbstractTableModel):
    """Shows lines; nothing is changed in it, edits go through the session."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[Line, ...] = ()
        self._look: Look = LIGHT
        self._headings = headings()

    def set_look(self, look: Look) -> None:
        """Take the colours."""
        self._look = look
        self._tell(range(len(self._lines)))

    def show_lines(self, lines: Sequence[Line]) -> None:
        """Show the runs; only what is different is drawn anew."""
        new = tuple(lines)
        old, self._lines = self._lines, self._lines
        if [line.key for line in old] != [line.key for line in new]:
            self.beginResetModel()
            self._lines = new
            self.endResetModel()
            return
        self._lines = new
        self._tell(at for at, line in enumerate(new) if line != old[at])

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines shown."""
        return self._lines

    def line(self, key: int) -> Line | None:
        """Return the line of a run."""
        return next((line for line in self._lines if line.key == key), None)

    def _tell(self, rows: Any) -> None:
        for at in rows:
            self.dataChanged.emit(self.index(at, 0), self.index(at, REMARK))

    # --- what views ask -------------------------------------------------------------------

    def rowCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self._lines)

    def columnCount(self, parent: _Index = QModelIndex()) -> int:  # noqa: B008
        return 0 if parent.isValid() else len(self._headings)

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = int(Qt.ItemDataRole.DisplayRole),
    ) -> Any:
        if orientation != Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            # two lines, so that the columns need be no wider than their numbers
            return self._headings[section].replace(" ", "\n", 1) if section else self._headings[0]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(section)
        if role == Qt.ItemDataRole.ToolTipRole and section == E_N:
            return plain_tip(
                _tr(
                    "Normalised error: the difference over its expanded uncertainty; up to 1 they "
                    "agree."
                )
            )
        return None

    def data(self, index: _Index, role: int = int(Qt.ItemDataRole.DisplayRole)) -> Any:
        if not index.isValid():
            return None
        line, column = self._lines[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return cell_text(line, column)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _alignment(column)
        if role == Qt.ItemDataRole.ForegroundRole:
            return QColor(self._colour(line, column))
        if role == Qt.ItemDataRole.ToolTipRole:
            return plain_tip(" ".join(line.sentences)) if column >= VERDICT else None
        if role == Qt.ItemDataRole.FontRole:
            font = QFont()
            font.setBold(column in (HAND, SOUND, VERDICT) or (line.shown and column == NAME))
            return font
        if role == KEY_ROLE:
            return line.key
        if role == SORT_ROLE:
            return _sort_value(line, column)
        return None

    def _colour(self, line: Line, column: int) -> str:
        look = self._look
        if column in (HAND, SOUND):
            return look.hand if column == HAND else look.sound
        if column == SOURCE:
            return look.sound
        if column == VERDICT:
            return {AGREES: look.agree, DIFFERS: look.differ}.get(line.kind, look.unsure)
        if column == REMARK and line.row.outcome == FAILED and not line.doing:
            return look.fault
        return look.text


class RunsProxy(QSortFilterProxyModel):
    """Sorts by any column and leaves out what the filters do not want."""

    def __init__(self, model: RunsModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._text, self._group, self._kind = "", "", ANY
        self.setSourceModel(model)
        self.setSortRole(SORT_ROLE)

    def set_filter(self, text: str, group: str | None, kind: str) -> None:
        """Show only runs with this text, of this group (None for all), with this verdict."""
        self.beginResetModel()
        self._text, self._group_wanted, self._kind = text.strip().casefold(), group, kind
        self.endResetModel()

    _group_wanted: str | None = None

    def filterAcceptsRow(self, source_row: int, source_parent: _Index) -> bool:
        line = self._model.lines[source_row]
        if self._group_wanted is not None and line.row.group != self._group_wanted:
            return False
        if self._kind == ODD and not line.odd:
            return False
        if self._kind not in (ANY, ODD) and line.kind != self._kind:
            return False
        if not self._text:
            return True
        said_of_it = (*(cell_text(line, c) for c in range(REMARK + 1)), *line.sentences)
        return any(self._text in part.casefold() for part in said_of_it)

    def lessThan(self, left: _Index, right: _Index) -> bool:
        a, b = left.data(SORT_ROLE), right.data(SORT_ROLE)
        if type(a) is not type(b):
            # numbers before what has none
            return isinstance(a, float)
        return bool(a < b)


def cell_text(line: Line, column: int) -> str:
    """Return what a cell says."""
    row = line.row
    speed, source = row.speed_mps, row.source_hz
    if column == NAME:
        return ("▸ " if line.shown else "   ") + row.name
    if column == GROUP:
        return row.group
    if column == WAY:
        return ways().get(row.direction, "")
    if column == HAND:
        return _bare(speed.predicted)
    if column == SOUND:
        return _bare(speed.measured)
    if column == DIFFERENCE:
        return "–" if speed.difference is None else figures.signed_difference(speed.difference)
    if column == E_N:
        return "–" if speed.e_n is None else figures.plain(abs(speed.e_n), 2)
    if column == VERDICT:
        return _verdict(line)
    if column == SOURCE:
        return _bare(source.measured)
    return line.remark


def _verdict(line: Line) -> str:
    if line.row.outcome != MEASURED or not line.row.overall:
        return "–"
    if line.kind == AGREES:
        return "✓ " + _tr("yes")
    if line.kind == DIFFERS:
        return "✗ " + _tr("no")
    return "? " + said(line.row.overall_words)


def _bare(quantity: Quantity | None) -> str:
    return "–" if quantity is None else figures.bare(quantity)


def _sort_value(line: Line, column: int) -> float | str:
    row = line.row
    numbers = {
        HAND: row.speed_mps.predicted,
        SOUND: row.speed_mps.measured,
        DIFFERENCE: row.speed_mps.difference,
        SOURCE: row.source_hz.measured,
    }
    if column in numbers:
        found = numbers[column]
        return _LAST if found is None or not math.isfinite(found.value) else float(found.value)
    if column == E_N:
        return _LAST if row.speed_mps.e_n is None else abs(row.speed_mps.e_n)
    if column == NAME:
        return _natural(row.name)
    return cell_text(line, column).casefold()


def _natural(name: str) -> str:
    """Return a name so that run 2 comes before run 10."""
    parts, digits = [], ""
    for char in name.casefold() + "\0":
        if char.isdigit():
            digits += char
            continue
        if digits:
            parts.append(digits.zfill(12))
            digits = ""
        parts.append(char)
    return "".join(parts)


def _alignment(column: int) -> Qt.AlignmentFlag:
    numbers = (HAND, SOUND, DIFFERENCE, E_N, SOURCE)
    side = Qt.AlignmentFlag.AlignRight if column in numbers else Qt.AlignmentFlag.AlignLeft
    return side | Qt.AlignmentFlag.AlignVCenter


def _tr(text: str) -> str:
    return QCoreApplication.translate("Runs", text)
