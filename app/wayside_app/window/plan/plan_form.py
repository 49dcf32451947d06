"""The planning form at the left of the sheet."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtGui import QFont, QFontMetricsF
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from wayside.session.plan_form import SECTIONS, USUAL, PlanReading
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.form.field_form import FieldForm
from wayside_app.window.form.section_box import SectionBox

_WIDTH_DIGITS = 34
_ADVICE_LINES = 3


class PlanForm(FieldForm):
    """Shows the sections; what is typed goes to the session, so it is saved and can be undone.

    Signals
    -------
    take_wanted()
        The form's own source, speed and distance are to be taken over.
    """

    take_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self.advice.setText(self.tr("Grey numbers are usual values, used until you type your own."))
        self.setProperty("part", "plain")
        self._faults: Mapping[str, str] = {}
        self.take = QPushButton(self.tr("Take source and speed from the form"), self)
        self.take.clicked.connect(self.take_wanted)
        inner = QWidget(self)
        inner.setProperty("part", "plain")
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, 8, 0)
        column.setSpacing(2)
        self.boxes = [SectionBox(section, inner, with_u=False) for section in SECTIONS]
        for box in self.boxes:
            self.listen_to(box)
            column.addWidget(box)
        column.addStretch(1)
        self.scroller.setWidget(inner)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 6, 0)
        whole.addWidget(self.take)
        whole.addWidget(self.scroller, 1)
        whole.addWidget(self.advice)

    def boxes_shown(self) -> list[SectionBox]:
        """Return the boxes, from top to bottom."""
        return self.boxes

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
        self.show_faults()
        for path, row in self.rows().items():
            row.value.setPlaceholderText(
                figures.typed(USUAL[path]) if path in USUAL else self.tr("open")
            )
        stops = [stop for box in self.boxes for stop in box.key_stops()]
        for before, after in itertools.pairwise([self.take, *stops]):
            QWidget.setTabOrder(before, after)

    def show_faults(self) -> None:
        """Show the fault of every row that was left."""
        for path, row in self.rows().items():
            self.show_late(path, row, self._faults.get(path, ""))
