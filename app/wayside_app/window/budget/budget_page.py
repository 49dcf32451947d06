"""The sheet "How sure": the budget of one result, and linear propagation beside sampling."""

from __future__ import annotations

import math

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wayside.hand.budget import BudgetLine
from wayside.hand.monte_carlo import MonteCarlo
from wayside.hand.predict import RESULTS, Prediction
from wayside.quantity import Quantity
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.budget import words
from wayside_app.window.budget.sampling import Sampling
from wayside_app.window.budget.spread_picture import SpreadPicture
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.pages.page import Page
from wayside_app.window.pages.sheet_table import Cell, SheetTable
from wayside_app.window.pages.waiting import waiting_for
from wayside_app.window.words import said

_FIRST = "approach_hz"
_NARROW = 0.87
_TOGETHER = ("speed_mps", "source_hz", "sound_speed_mps", "approach_hz", "recede_hz")


class BudgetPage(Page):
    """What the uncertainties are made of."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(
            self.tr("How sure: what the uncertainty is made of"), "1", "number-hand", parent
        )
        self._bench = bench
        self._names: list[str] = []
        self.sampling = Sampling(bench.runner, self)
        self.sampling.changed.connect(self._show_sampled)
        self.waiting = self.words("why")
        self.result = Choice(self.tr("result whose uncertainty is shown"), self)
        self.result.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        self.result.activated.connect(self._chosen)
        self.value = text_label("hand-value")
        row = QHBoxLayout()
        label = text_label("", self.tr("Uncertainty of"))
        label.setBuddy(self.result)
        for part in (label, self.result, self.value):
            row.addWidget(part)
        row.addStretch(1)
        self.column.addLayout(row)
        self.cause = self.words("why")
        self.table = SheetTable(
            self.tr("Uncertainty budget"),
            (
                self.tr("input"),
                self.tr("value"),
                self.tr("u"),
                self.tr("sensitivity"),
                self.tr("adds ±"),
                self.tr("share of u²"),
            ),
        )
        self.column.addWidget(self.table)
        self.interval = self.words("quiet")
        sampled_heading = self.heading(self.tr("Linear propagation and sampling side by side"))
        self.state = text_label("quiet", "", wrap=True)
        self.stop = QPushButton(self.tr("Stop"), self)
        self.stop.clicked.connect(self.sampling.stop)
        self.again = QPushButton(self.tr("Draw again"), self)
        self.again.clicked.connect(self.sampling.again)
        drawing = QHBoxLayout()
        drawing.addWidget(self.state, 1)
        for button in (self.stop, self.again):
            drawing.addWidget(button)
            button.hide()
        self.column.addLayout(drawing)
        self.picture = SpreadPicture(self)
        self.column.addWidget(self.picture)
        self.sampled = SheetTable(
            self.tr("Linear propagation and sampling side by side"),
            (
                "",
                self.tr("linear"),
                self.tr("95 %"),
                self.tr("sampled"),
                self.tr("95 %"),
                self.tr("shortest 95 %"),
                self.tr("same?"),
            ),
        )
        self.column.addWidget(self.sampled)
        self.notes = self.words("why")
        together_heading = self.heading(self.tr("Which results move together (correlation)"))
        self.together = SheetTable(
            self.tr("Correlation of the results"), ("", *(said(RESULTS[n][0]) for n in _TOGETHER))
        )
        self.column.addWidget(self.together)
        self.why_together = self.words(
            "quiet",
            self.tr(
                "1: they rise together, −1: one rises as the other falls, 0: independent. What two "
                "results share, the speed of sound or one tape, is counted in both and carried on."
            ),
        )
        self.column.addStretch(1)
        self._filled: tuple[QWidget, ...] = (
            label,
            self.result,
            self.value,
            self.cause,
            self.table,
            self.interval,
            sampled_heading,
            self.state,
            together_heading,
            self.together,
            self.why_together,
        )

    @property
    def name(self) -> str:
        """The result shown."""
        return self._names[self.result.currentIndex()] if self._names else _FIRST

    def restyle(self) -> None:
        for part in (self.table, self.together, self.picture):
            part.set_look(self.look, self.points)
        self.sampled.set_look(self.look, _NARROW * self.points)

    def refresh(self) -> None:
        p = self._bench.prediction
        self.waiting.setVisible(p is None)
        for part in self._filled:
            part.setVisible(p is not None)
        self.sampling.ask(p)
        if p is None:
            self.waiting.setText(waiting_for(self._bench.reading))
            return
        self._fill_choice(p)
        self._show_budget(p)
        self._show_together(p)

    def _fill_choice(self, p: Prediction) -> None:
        names = words.names_of(p)
        if names != self._names:
            kept = self.name if self._names else _FIRST
            self._names = names
            self.result.clear()
            for name in names:
                self.result.addItem(said(RESULTS[name][0]), name)
            self.result.setCurrentIndex(names.index(kept if kept in names else _FIRST))

    def _chosen(self) -> None:
        if self._bench.prediction is not None:
            self._show_budget(self._bench.prediction)
            self._show_sampled()

    def _show_budget(self, p: Prediction) -> None:
        result = words.result_of(p, self.name)
        self.value.setText(figures.full(result))
        self.value.setAccessibleName(said(RESULTS[self.name][0]))
        self.cause.setText(words.main_cause(p, self.name))
        self.interval.setText(words.interval(p, self.name))
        lines = p.budget[self.name]
        rows = [_budget_row(line, result.unit) for line in lines]
        total = figures.bare_u(result)
        rows.append(
            (
                Cell(self.tr("together (root of the sum of squares)"), bold=True),
                Cell(""),
                Cell(""),
                Cell(""),
                Cell(total, "hand", bold=True),
                Cell(self.tr("100 %"), bold=True),
            )
        )
        self.table.show_rows(rows)

    def _show_together(self, p: Prediction) -> None:
        rows = []
        for a in _TOGETHER:
            cells = [Cell(said(RESULTS[a][0]), bold=True)]
            for b in _TOGETHER:
                r = 1.0 if a == b else p.correlation.get((a, b), p.correlation.get((b, a), 0.0))
                text = figures.plain(round(r, 2) + 0.0, 2)
                cells.append(Cell(text, "quiet" if a == b else "text"))
            rows.append(cells)
        self.together.show_rows(rows)

    def _show_sampled(self) -> None:
        sampling, p = self.sampling, self._bench.prediction
        m = sampling.found
        shown = m is not None and p is not None
        self.picture.setVisible(shown)
        self.sampled.setVisible(shown)
        self.notes.setVisible(shown)
        self.stop.setVisible(p is not None and sampling.drawing)
        self.again.setVisible(p is not None and sampling.stopped)
        if sampling.fault:
            self.state.setText(said(sampling.fault))
        elif sampling.drawing:
            percent = self.tr("{percent} %").format(percent=round(100 * sampling.share))
            self.state.setText(self.tr("Drawing every input at random …") + f" {percent}")
        elif sampling.stopped:
            self.state.setText(self.tr("Stopped; the linear result above stands alone."))
        elif m is not None:
            self.state.setText(
                self.tr(
                    "Every input was drawn {n} times from its own distribution and sent through "
                    "the full formulas."
                ).format(n=f"{m.draws:,}".replace(",", " "))
            )
        if m is None or p is None or not sampling.current:
            return
        self.sampled.show_rows([_sampled_row(m, p, name) for name in self._names])
        self.notes.setText("\n".join(said(note) for note in m.notes))
        self.picture.show_spread(words.result_of(p, self.name), m.results[self.name])


def _budget_row(line: BudgetLine, unit: str) -> tuple[Cell, ...]:
    own = Quantity(line.value, line.u, line.unit)
    share = figures.plain(100.0 * line.share, 1 if line.share < 0.1 else 0)
    return (
        Cell(words.name_of(line), "quiet" if line.assumed else "text"),
        Cell(figures.value(own), "hand"),
        Cell(figures.bare_u(own), "hand"),
        Cell(words.sensitivity_text(line, unit)),
        Cell(figures.bare_u(Quantity(0.0, line.contribution, unit))),
        Cell(f"{share} %", bold=True, bar=line.share),
    )


def _sampled_row(m: MonteCarlo, p: Prediction, name: str) -> tuple[Cell, ...]:
    s, linear = m.results[name], words.result_of(p, name)
    place = Quantity(0.0, s.u, s.unit)

    def span(low: float, high: float) -> str:
        return f"{figures.number(low, place)} … {figures.number(high, place)}"

    same = s.agrees and math.isfinite(s.u)
    return (
        Cell(f"{said(s.label)} ({s.unit})" if s.unit else said(s.label)),
        Cell(figures.bare(linear), "hand"),
        Cell(span(s.linear_low, s.linear_high)),
        Cell(figures.bare(Quantity(s.mean, s.u, "")), "hand"),
        Cell(span(s.low, s.high)),
        Cell(span(s.shortest_low, s.shortest_high)),
        Cell("✓" if same else "✗", "agree" if same else "differ", True, spoken=_same(same)),
    )


def _same(same: bool) -> str:
    if same:
        return QCoreApplication.translate("Budget", "the same")
    return QCoreApplication.translate("Budget", "they differ")
