"""The sheet "The working": what was measured, unit by unit and step by step to the pitches."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wayside.hand.predict import Prediction
from wayside.hand.prediction_text import prediction_as_text, shift_sentence
from wayside_app.window.bench import Bench
from wayside_app.window.controls import text_label
from wayside_app.window.pages.page import Page
from wayside_app.window.pages.sheet_table import Cell, SheetTable
from wayside_app.window.pages.waiting import waiting_for
from wayside_app.window.steps.board import Board
from wayside_app.window.steps.known import known_text, value_text
from wayside_app.window.steps.step_card import latex_of
from wayside_app.window.words import said, said_columns


class WorkingPage(Page):
    """How the prediction comes about."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(
            self.tr("The working: from the tape to the pitch"), "1", "number-hand", parent
        )
        self._bench = bench
        self.waiting = self.words("why")
        self.copy_text = QPushButton(self.tr("Copy all as text"), self)
        self.copy_latex = QPushButton(self.tr("Copy all as LaTeX"), self)
        self.copy_text.clicked.connect(self._copy_text)
        self.copy_latex.clicked.connect(self._copy_latex)
        self._shown: list[QWidget] = []
        row = QHBoxLayout()
        self.rounding = text_label(
            "quiet",
            self.tr(
                "Every number is shown to the digits its uncertainty supports; the unrounded "
                "number is carried on."
            ),
            wrap=True,
        )
        row.addWidget(self.rounding, 1)
        row.addWidget(self.copy_text)
        row.addWidget(self.copy_latex)
        self.column.addLayout(row)
        self.steps = Board(self.tr("Worked steps"), self)
        self.column.addWidget(self.steps)
        self.shift = self.words("why")
        self._inputs_heading = self.heading(self.tr("What went in"))
        self.inputs = SheetTable(
            self.tr("What went in"),
            (self.tr("symbol"), self.tr("what"), self.tr("value ± u"), self.tr("known from")),
            wide=3,
            left=(0, 1, 3),
        )
        self.column.addWidget(self.inputs)
        self._notes_heading = self.heading(self.tr("Mind"))
        self.notes = self.words()
        self.column.addStretch(1)

    def restyle(self) -> None:
        self.steps.set_look(self.look, self.points)
        self.inputs.set_look(self.look, self.points)

    def refresh(self) -> None:
        p = self._bench.prediction
        self.waiting.setVisible(p is None)
        for part in (
            self.rounding,
            self.copy_text,
            self.copy_latex,
            self.steps,
            self.shift,
            self._inputs_heading,
            self.inputs,
        ):
            part.setVisible(p is not None)
        for part in (self._notes_heading, self.notes):
            part.setVisible(p is not None and bool(p.notes))
        if p is None:
            self.waiting.setText(waiting_for(self._bench.reading))
        else:
            self._show(p)

    def _show(self, p: Prediction) -> None:
        self.steps.show_steps(p.conversions, numbered=p.steps)
        self.shift.setText(said(shift_sentence(p)))
        self.notes.setText("\n".join(f"•  {said(note)}" for note in p.notes))
        used = {line.path for lines in p.budget.values() for line in lines}
        self.inputs.show_rows(
            [
                (
                    Cell(i.field.symbol, "hand", bold=True, spoken=said(i.label)),
                    Cell(said(i.label)),
                    Cell(value_text(i), "quiet" if i.assumed else "hand", bold=not i.assumed),
                    Cell(known_text(i), "quiet"),
                )
                for i in p.setup.inputs
                if i.path in used or not i.assumed
            ]
        )

    def _copy_text(self) -> None:
        if self._bench.prediction is not None:
            self.copy(said_columns(prediction_as_text(self._bench.prediction)))

    def _copy_latex(self) -> None:
        p = self._bench.prediction
        if p is not None:
            self.copy("\n\n".join(latex_of(step) for step in (*p.conversions, *p.steps)))
