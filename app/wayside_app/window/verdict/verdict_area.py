"""Area 3 as a whole: the verdict, large, and the table beside it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from wayside_app.window.banner import Banner
from wayside_app.window.bench import AT_VERDICT, Bench
from wayside_app.window.controls import restyle, text_label
from wayside_app.window.hint_line import HintLine
from wayside_app.window.theme.looks import Look
from wayside_app.window.verdict.findings import findings
from wayside_app.window.verdict.table import SideBySide

_LEAST_HEADLINE, _LEAST_WHY = 420, 600


class VerdictArea(QFrame):
    """Do they agree?

    Signals
    -------
    explain_wanted()
        The sheet on what would explain a difference is wanted.
    """

    explain_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "card")
        self._bench = bench
        self.headline = text_label("verdict", "", wrap=True)
        self.why = text_label("why", "", wrap=True)
        # wide enough that their least height is not reckoned for a word a line
        self.headline.setMinimumWidth(_LEAST_HEADLINE)
        self.why.setMinimumWidth(_LEAST_WHY)
        self.banner = Banner(self)
        self.hint = HintLine(
            self.tr("The verdict. F5 shows it large to a class; Ctrl+S keeps everything."), self
        )
        self.table = SideBySide(self)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(text_label("number-both", "3"), 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(text_label("title", self.tr("Do they agree?")))
        head.addSpacing(10)
        head.addWidget(self.headline, 1)
        self.explain = QPushButton(self.tr("What would explain it"), self)
        self.explain.clicked.connect(self.explain_wanted)
        head.addWidget(self.explain, 0, Qt.AlignmentFlag.AlignTop)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(12, 8, 12, 8)
        whole.setSpacing(4)
        whole.addLayout(head)
        whole.addWidget(self.why)
        whole.addWidget(self.banner)
        whole.addWidget(self.hint)
        whole.addWidget(self.table, 1)
        # every edit and every measurement ends with a comparison, possibly of nothing
        bench.compared.connect(self._show)
        bench.fault.connect(self._show_fault)
        self._show()

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self.table.set_look(look, font)

    def _show(self) -> None:
        bench = self._bench
        found = findings(bench.prediction, bench.measurement, bench.comparison)
        self.headline.setText(found.headline)
        restyle(self.headline, tone=found.tone)
        self.why.setText(found.why)
        self.explain.setVisible(bench.comparison is not None)
        self.table.show_rows(found.rows)

    def _show_fault(self, place: str, sentence: str) -> None:
        if place == AT_VERDICT:
            self.banner.say(sentence)
