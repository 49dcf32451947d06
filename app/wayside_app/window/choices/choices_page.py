"""The sheet "What choices do": formula, wind, shortcuts, rounding, and where one reads."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from wayside.hand.methods import Methods, compare_methods, near_readings
from wayside.hand.predict import Prediction
from wayside.physics.air import AIR_FORMULAS
from wayside.session.hand_form import FORMULA
from wayside_app.window.bench import Bench
from wayside_app.window.choices import rows
from wayside_app.window.choices.near_picture import NearPicture
from wayside_app.window.controls import text_label
from wayside_app.window.pages.page import Page
from wayside_app.window.pages.sheet_table import SheetTable
from wayside_app.window.pages.waiting import waiting_for
from wayside_app.window.words import said

_CURVE = tuple(0.5 + 0.25 * k for k in range(39))


class ChoicesPage(Page):
    """What another formula, wind, or a quicker way of working would change."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(
            self.tr("What choices do: formulas, wind, shortcuts"), "1", "number-hand", parent
        )
        self._bench = bench
        self.waiting = self.words("why")
        approach, recede = self.tr("approach (Hz)"), self.tr("recede (Hz)")
        air = self.heading(self.tr("Formula for the speed of sound"))
        self.formulas = self._table(
            (
                self.tr("formula"),
                self.tr("c (m/s)"),
                approach,
                recede,
                self.tr("change (Hz)"),
                self.tr("in its u"),
            ),
            self.tr("Formulas for the speed of sound"),
        )
        self.sources = self.words(
            "quiet",
            ";  ".join(f"{said(a.label)}: {said(a.source)}" for a in AIR_FORMULAS.values()) + ".",
        )
        row = QHBoxLayout()
        self.use_label = text_label("", self.tr("Use"))
        row.addWidget(self.use_label)
        self.use: dict[str, QPushButton] = {}
        for key, formula in AIR_FORMULAS.items():
            button = QPushButton(said(formula.label), self)
            button.setProperty("part", "hand-choice")
            button.setCheckable(True)
            button.setAccessibleName(
                self.tr("Use the formula: {name}").format(name=said(formula.label))
            )
            button.clicked.connect(partial(self._use, key))
            self.use[key] = button
            row.addWidget(button)
        row.addStretch(1)
        self.column.addLayout(row)
        wind = self.heading(self.tr("Wind, and what forgetting it costs"))
        self.wind = self._table(
            (
                self.tr("wind"),
                approach,
                recede,
                self.tr("speed from both pitches"),
                self.tr("speed from one pitch"),
            ),
            self.tr("What wind does"),
        )
        self.wind_words = self.words(
            "quiet",
            self.tr(
                "The last two columns: error of a speed worked out as if it were calm. Two pitches "
                "are hardly spoilt, since the wind helps one way what it hinders the other."
            ),
        )
        self.near_heading = self.heading(
            self.tr("Pitches read near the microphone instead of far away")
        )
        self.near_picture = NearPicture(self)
        self.column.addWidget(self.near_picture)
        self.near = self._table(
            (
                self.tr("read at"),
                self.tr("that is"),
                approach,
                recede,
                self.tr("speed from them (m/s)"),
                self.tr("error"),
            ),
            self.tr("Pitches at a finite distance"),
        )
        self.near_words = self.words(
            "quiet",
            self.tr("Give the microphone's distance in the form to see what reading nearby costs."),
        )
        self.short_heading = self.heading(self.tr("Shortcuts, and what they cost"))
        self.shortcuts = self._costs(self.tr("What shortcuts cost"))
        self.round_heading = self.heading(self.tr("Rounding early, and what it costs"))
        self.rounding = self._costs(self.tr("What rounding early costs"))
        self.column.addStretch(1)
        self._filled: tuple[QWidget, ...] = (
            air,
            self.formulas,
            self.sources,
            wind,
            self.wind,
            self.wind_words,
            self.near_heading,
            self.use_label,
            *self.use.values(),
        )

    def restyle(self) -> None:
        for part in (
            self.formulas,
            self.wind,
            self.near,
            self.shortcuts,
            self.rounding,
            self.near_picture,
        ):
            part.set_look(self.look, self.points)

    def refresh(self) -> None:
        p = self._bench.prediction
        self.waiting.setVisible(p is None)
        for part in self._filled:
            part.setVisible(p is not None)
        m = Methods((), (), (), ()) if p is None else compare_methods(p)
        for shown, parts in (
            (m.near, (self.near, self.near_picture)),
            (m.shortcuts, (self.short_heading, self.shortcuts)),
            (m.rounding, (self.round_heading, self.rounding)),
        ):
            for part in parts:
                part.setVisible(bool(shown))
        straight = p is not None and p.setup.kind.back_solve is not None
        self.near_heading.setVisible(straight)
        self.near_words.setVisible(straight and not m.near)
        if p is None:
            self.waiting.setText(waiting_for(self._bench.reading))
        else:
            self._show(p, m)

    def _show(self, p: Prediction, m: Methods) -> None:
        for key, button in self.use.items():
            button.setChecked(key == p.setup.formula)
        self.formulas.show_rows(rows.formula_rows(p))
        self.wind.show_rows(rows.wind_rows(m.wind))
        self.shortcuts.show_rows(rows.shortcut_rows(m.shortcuts))
        self.rounding.show_rows(rows.shortcut_rows(m.rounding))
        if m.near:
            self.near.show_rows(rows.near_rows(m.near))
            self.near_picture.show_readings(near_readings(p, _CURVE), m.near)

    def _use(self, key: str) -> None:
        self._bench.choose(FORMULA, key, self.tr("choose formula"))
        for other, button in self.use.items():
            button.setChecked(other == key)

    def _table(
        self, columns: tuple[str, ...], name: str, wide: int = 0, left: tuple[int, ...] = (0,)
    ) -> SheetTable:
        table = SheetTable(name, columns, wide, left)
        self.column.addWidget(table)
        return table

    def _costs(self, name: str) -> SheetTable:
        return self._table(
            (
                self.tr("way"),
                self.tr("of the"),
                self.tr("gives"),
                self.tr("exact"),
                self.tr("error"),
                self.tr("%"),
                self.tr("in its u"),
            ),
            name,
            left=(0, 1),
        )
