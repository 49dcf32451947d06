"""What every form of field rows does: take edits, advise on the row in use, tell faults late."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from wayside.session.session import Entry
from wayside_app.window.bench import Bench
from wayside_app.window.controls import text_label
from wayside_app.window.form.field_row import FieldRow
from wayside_app.window.form.section_box import SectionBox
from wayside_app.window.words import said


class FieldForm(QFrame):
    """A column of section boxes that scrolls, with a line of advice.

    Parameters
    ----------
    bench : Bench
        Takes what is typed.

    Attributes
    ----------
    advice : QLabel
    scroller : QScrollArea
    """

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._settled: set[str] = set()
        self.advice = text_label("quiet", "", wrap=True)
        self.advice.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.scroller = QScrollArea(self)
        self.scroller.setWidgetResizable(True)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def boxes_shown(self) -> list[SectionBox]:
        """Return the boxes shown now, from top to bottom."""
        raise NotImplementedError

    def show_faults(self) -> None:
        """Show the fault of every row that was left."""
        raise NotImplementedError

    def rows(self) -> dict[str, FieldRow]:
        """Return the rows shown now, in order, by field path."""
        return {path: row for box in self.boxes_shown() for path, row in box.rows.items()}

    def listen_to(self, box: SectionBox) -> None:
        """Take the edits of a box."""
        box.edited.connect(self._edited)
        box.entered.connect(self._advise)
        box.left.connect(self._left)
        box.way_chosen.connect(self._bench.choose)

    def show_late(self, path: str, row: FieldRow, fault: str) -> None:
        """Show a fault once its row was left; clear it as soon as it is mended."""
        if not fault:
            self._settled.discard(path)
        if path in self._settled or not row.hasFocusInside() or not fault:
            row.show_fault(fault)

    def _edited(self, path: str, entry: Entry) -> None:
        self._bench.type_entry(path, entry, said(self.rows()[path].field.label))

    def _advise(self, path: str) -> None:
        row = self.rows().get(path)
        if row is not None:
            self.advice.setText(said(row.field.hint))
            self.scroller.ensureWidgetVisible(row, 0, 20)

    def _left(self, path: str) -> None:
        self._settled.add(path)
        row = self.rows().get(path)
        if row is None or not row.hasFocusInside():
            self._bench.end_typing()
        self.show_faults()
