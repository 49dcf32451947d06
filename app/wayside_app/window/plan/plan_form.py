"""The planning form at the left of the sheet."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QFontMetricsF
from PySide6.QtWidgets import QFrame, QPushButton, QScrollArea, QVBoxLayout, QWidget

from wayside.session.plan_form import SECTIONS, USUAL, PlanReading
from wayside.session.session import Entry
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.controls import text_label
from wayside_app.window.form.field_row import FieldRow
from wayside_app.window.form.section_box import SectionBox
from wayside_app.window.words import said

_WIDTH_DIGITS = 34
_ADVICE_LINES = 3


class PlanForm(QFrame):
    """Shows the sections; what is typed goes to the session, so it is saved and can be undone.

    Signals
    -------
    take_wanted()
        The form's own source, speed and distance are to be taken over.
    """

    take_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "plain")
        self._bench = bench
        self._settled: set[str] = set()
        self._faults: Mapping[str, str] = {}
        self.take = QPushButton(self.tr("Take source and speed from the form"), self)
        self.take.clicked.connect(self.take_wanted)
        self.advice = text_label(
            "quiet",
            self.tr("Grey numbers are usual values, used until you type your own."),
            wrap=True,
        )
        self.advice.setAlignment(Qt.AlignmentFlag.AlignTop)
        inner = QWidget(self)
        inner.setProperty("part", "plain")
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(2)
        self.boxes = [SectionBox(section, inner, with_u=False) for section in SECTIONS]
        for box in self.boxes:
            box.edited.connect(self._edited)
            box.entered.connect(self._advise)
            box.left.connect(self._left)
            box.way_chosen.connect(bench.choose)
            column.addWidget(box)
        column.addStretch(1)
        self.scroller = QScrollArea(self)
        self.scroller.setWidgetResizable(True)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setWidget(inner)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 6, 0)
        whole.addWidget(self.take)
        whole.addWidget(self.scroller, 1)
        whole.addWidget(self.advice)

    def rows(self) -> dict[str, FieldRow]:
        """Return the rows shown now, by field path."""
        return {path: row for box in self.boxes for path, row in box.rows.items()}

    def set_size(self, points: float) -> None:
        """Take the text size."""
        font = QFont(self.font())
        font.setPointSizeF(points)
        metrics = QFontMetricsF(font)
        self.setFixedWidth(round(_WIDTH_DIGITS * metrics.horizontalAdvance("0")))
        self.advice.setFixedHeight(round(_ADVICE_LINES * metrics.lineSpacing()))

    def show_reading(self, reading: PlanReading) -> None:
        """Show what the session holds, and each fault once its row was left."""
        for box in self.boxes:
            box.show_session(self._bench.session)
        prediction = self._bench.prediction
        self.take.setEnabled(prediction is not None)
        self._faults = reading.faults
        self._show_faults()
        for path, row in self.rows().items():
            row.value.setPlaceholderText(
                figures.typed(USUAL[path]) if path in USUAL else self.tr("open")
            )
        stops = [stop for box in self.boxes for stop in box.key_stops()]
        for before, after in itertools.pairwise([self.take, *stops]):
            QWidget.setTabOrder(before, after)

    def _show_faults(self) -> None:
        """Show each fault once its box was left; clear it as soon as it is mended."""
        for path, row in self.rows().items():
            fault = self._faults.get(path, "")
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
        self._show_faults()
