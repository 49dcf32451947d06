"""Area 1 as a whole: the form, the advice, and what is to be expected from it."""

from __future__ import annotations

import itertools

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from wayside.hand.fields import Section
from wayside.hand.setup import sections_of
from wayside.hand.sources import SOURCE_KINDS
from wayside.physics.air import AIR_FORMULAS
from wayside.session.hand_form import (
    FORMULA,
    SOURCE_KIND,
    formula,
    source_kind,
    tool_fields,
)
from wayside_app.window.banner import Banner
from wayside_app.window.bench import AT_HAND, Bench
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.form.expectation import Expectation
from wayside_app.window.form.field_form import FieldForm
from wayside_app.window.form.field_row import FieldRow
from wayside_app.window.form.section_box import SectionBox
from wayside_app.window.form.summary import summary
from wayside_app.window.hint_line import HintLine
from wayside_app.window.words import said

_WIDTH_DIGITS = 37
FILM_ENDINGS = (".mp4", ".mov", ".m4v", ".mkv", ".avi", ".webm", ".3gp")
_ADVICE_LINES = 4


class HandArea(FieldForm):
    """What was measured by hand.

    Signals
    -------
    film_wanted()
        The user wants to time the crossings in the film.
    """

    film_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(bench, parent)
        self.setProperty("part", "card")
        self._sections: dict[str, SectionBox] = {}
        self.title = text_label("title", self.tr("What you measured by hand"), wrap=True)
        self.banner = Banner(self)
        self.hint = HintLine(
            self.tr("The sheet of paper. Change a number here and watch the orange curve follow."),
            self,
        )
        self.film_button = QPushButton(self.tr("Time the crossings in the film …"), self)
        self.film_button.clicked.connect(self.film_wanted)
        self.film_button.hide()
        self.kind = Choice(self.tr("kind of source"), self, yielding=True)
        for key, kind in SOURCE_KINDS.items():
            self.kind.addItem(_capital(said(kind.label)), key)
        self.formula = Choice(self.tr("formula for the speed of sound"), self, yielding=True)
        for key, air in AIR_FORMULAS.items():
            self.formula.addItem(_capital(said(air.label)), key)
            self.formula.setItemData(
                self.formula.count() - 1, air.text, Qt.ItemDataRole.ToolTipRole
            )
        self.advice.setText(self._general_advice())
        self.expectation = Expectation(self)
        self._content = QWidget(self)
        self._content.setProperty("part", "plain")
        self._column = QVBoxLayout(self._content)
        self._column.setContentsMargins(0, 0, 8, 0)
        self._column.setSpacing(4)
        self._column.addStretch(1)
        self.scroller.setWidget(self._content)
        self._lay_out()
        self.kind.activated.connect(self._kind_chosen)
        self.formula.activated.connect(self._formula_chosen)
        bench.session_changed.connect(self._show_session)
        bench.predicted.connect(self._show_prediction)
        bench.session_changed.connect(self._show_film)
        bench.fault.connect(self._show_fault)
        self._show_session()
        self._show_prediction()

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(text_label("number-hand", "1"), 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self.title, 1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(12, 8, 12, 10)
        whole.setSpacing(6)
        whole.addLayout(head)
        whole.addWidget(self.banner)
        whole.addWidget(self.hint)
        whole.addWidget(self.film_button)
        whole.addWidget(self.scroller, 1)
        self.advice.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        whole.addWidget(self.advice)
        whole.addWidget(self.expectation)

    def set_look(self, font: QFont) -> None:
        """Take the text size."""
        metrics = QFontMetrics(font)
        self.setMinimumWidth(_WIDTH_DIGITS * metrics.horizontalAdvance("0"))
        self.advice.setFixedHeight(_ADVICE_LINES * metrics.lineSpacing())

    def row(self, path: str) -> FieldRow:
        """Return the row of a field shown now."""
        return self.rows()[path]

    def boxes_shown(self) -> list[SectionBox]:
        """Return the boxes shown now, from top to bottom."""
        return list(self._sections.values())

    # --- showing ------------------------------------------------------------------------

    def _show_session(self) -> None:
        session = self._bench.session
        kind = source_kind(session)
        self.kind.setCurrentIndex(self.kind.findData(kind))
        self.formula.setCurrentIndex(self.formula.findData(formula(session)))
        self._build(kind)
        for box in self._sections.values():
            box.show_session(session)
        self._order_keys()
        self.show_faults()

    def _build(self, kind: str) -> None:
        wanted = {f"{kind}/{s.key}" if s.key == "source" else s.key: s for s in sections_of(kind)}
        if tools := tuple(tool_fields(self._bench.session)):
            names = ", ".join(field.path for field in tools)
            wanted[names] = Section("tools", "Shared instruments", (), tools)
        if list(wanted) == list(self._sections):
            return
        for key in [k for k in self._sections if k not in wanted]:
            box = self._sections.pop(key)
            self._column.removeWidget(box)
            for extra in (self.kind, self.formula):
                if box.isAncestorOf(extra):
                    extra.setParent(self)
            box.hide()
            box.deleteLater()
        ordered: dict[str, SectionBox] = {}
        for at, (key, section) in enumerate(wanted.items()):
            box = self._sections.get(key) or self._new_box(section)
            if section.key == "source":
                box.put_on_top("", self.kind)
            if section.key == "air":
                box.put_on_top(self.tr("Speed of sound by"), self.formula)
            self._column.removeWidget(box)
            self._column.insertWidget(at, box)
            ordered[key] = box
        self._sections = ordered

    def _order_keys(self) -> None:
        """Have Tab go down the form as it is read."""
        stops: list[QWidget] = []
        for box in self._sections.values():
            stops += box.key_stops()
        for before, after in itertools.pairwise(stops):
            QWidget.setTabOrder(before, after)

    def _new_box(self, section: Section) -> SectionBox:
        box = SectionBox(section, self._content)
        self.listen_to(box)
        return box

    def show_faults(self) -> None:
        """Show a fault once its box was left; clear it as soon as it is mended.

        A missing uncertainty is no fault while the keyboard is still in the row.
        """
        reading = self._bench.reading
        faults = reading.faults
        rows = self.rows()
        for path, row in rows.items():
            row.show_summary(summary(row.field, reading.entries.get(path)))
            sentence = faults.get(path, "")
            if path in reading.unfinished and row.hasFocusInside():
                row.show_fault("")
            else:
                self.show_late(path, row, sentence)
        loose = [s for path, s in faults.items() if path not in rows]
        self.expectation.show_loose_fault(loose[0] if loose else "")

    def _show_prediction(self) -> None:
        self.expectation.show_prediction(self._bench.reading, self._bench.prediction)
        self.show_faults()

    def _show_film(self) -> None:
        media = self._bench.session.film_file or self._bench.session.media
        path = "" if media is None else media.path.lower()
        self.film_button.setVisible(path.endswith(FILM_ENDINGS))

    def _show_fault(self, place: str, sentence: str) -> None:
        if place == AT_HAND:
            self.banner.say(sentence)

    # --- edits --------------------------------------------------------------------------

    def _general_advice(self) -> str:
        return self.tr(
            "Each entry: the value, its unit, and after ± how far off it may typically be."
        )

    def _kind_chosen(self) -> None:
        self._bench.choose(SOURCE_KIND, self.kind.currentData(), self.tr("choose kind of source"))

    def _formula_chosen(self) -> None:
        self._bench.choose(FORMULA, self.formula.currentData(), self.tr("choose formula"))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
