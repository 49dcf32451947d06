"""Three entries for pitches judged by ear, for when there is no recording."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QHBoxLayout, QWidget

from wayside.session.ear_form import FIELDS, EarReading
from wayside.session.session import Entry
from wayside_app.window.bench import Bench
from wayside_app.window.form.field_row import FieldRow
from wayside_app.window.words import said

_WIDTH_DIGITS = 28


class EarForm(QWidget):
    """The rows; what is typed goes to the session, so it is saved and can be undone."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.rows: dict[str, FieldRow] = {}
        self._faults: Mapping[str, str] = {}
        across = QHBoxLayout(self)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(16)
        digit = QFontMetricsF(self.font()).horizontalAdvance("0")
        for field in FIELDS:
            row = FieldRow(field, self, with_u=not field.exact)
            row.setMaximumWidth(round(_WIDTH_DIGITS * digit))
            row.setToolTip(said(field.hint))
            row.edited.connect(self._edited)
            row.left.connect(self._left)
            self.rows[field.path] = row
            across.addWidget(row)
        across.addStretch(1)

    def show_reading(self, reading: EarReading) -> None:
        """Show what the session holds, and faults at their rows once these were left."""
        self._faults = reading.faults
        for path, row in self.rows.items():
            row.show_entry(self._bench.session.entry(path))
        self._show_faults()

    def _show_faults(self) -> None:
        for path, row in self.rows.items():
            row.show_fault("" if row.hasFocusInside() else self._faults.get(path, ""))

    def _edited(self, path: str, entry: Entry) -> None:
        self._bench.type_entry(path, entry, said(self.rows[path].field.label))

    def _left(self, path: str) -> None:
        if not self.rows[path].hasFocusInside():
            self._bench.end_typing()
            self._show_faults()
