"""The sheet "What would explain it": a measured outcome held against every entry in turn."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from wayside.compare.compare import compare_heard
from wayside.compare.comparison_text import verdict_text
from wayside.compare.result import AGREE, DISAGREE, Comparison
from wayside.errors import WaysideError
from wayside.session.ear_form import EarReading, read_ear
from wayside_app.window.bench import Bench
from wayside_app.window.controls import Choice, restyle, text_label
from wayside_app.window.explain.ear_form import EarForm
from wayside_app.window.explain.stretch_table import StretchTable
from wayside_app.window.pages.page import Page
from wayside_app.window.pages.waiting import waiting_for
from wayside_app.window.verdict.findings import AGREE as FITS
from wayside_app.window.verdict.findings import DIFFER, UNSURE
from wayside_app.window.words import said

BY_SOUND, BY_EAR = "sound", "ear"
_CHOICE = "heard.by"


class ExplainPage(Page):
    """Which entry, if wrong, would explain the difference; and the measured values turned round."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(self.tr("What would explain it"), "3", "number-both", parent)
        self._bench = bench
        self.comparison: Comparison | None = None
        self.outcome = Choice(self.tr("measured outcome"), self)
        self.outcome.addItem(self.tr("measured in the recording"), BY_SOUND)
        self.outcome.addItem(self.tr("judged by ear"), BY_EAR)
        self.outcome.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        self.outcome.activated.connect(self._chosen)
        row = QHBoxLayout()
        label = text_label("", self.tr("The pitches were"))
        label.setBuddy(self.outcome)
        row.addWidget(label)
        row.addWidget(self.outcome)
        row.addStretch(1)
        self.column.addLayout(row)
        self.ear = EarForm(bench, self)
        self.column.addWidget(self.ear)
        self.waiting = self.words("why")
        self.headline = self.words("finding")
        self.list_heading = self.heading("")
        self.table = StretchTable(self)
        self.table.currentCellChanged.connect(lambda row, *_: self._show_sentence(row))
        self.column.addWidget(self.table)
        self.sentence = self.words("why")
        self.list_words = self.words(
            "quiet",
            self.tr(
                "Each entry in turn is taken as the only wrong one, and the value sought with "
                "which the predicted pitches come closest to the measured ones. The stretch is "
                "counted in the entry's own standard uncertainties: beyond about three it is "
                "hardly to blame."
            ),
        )
        self._lists: list[tuple[QLabel, QLabel]] = [
            (self.heading(title), self.words())
            for title in (
                self.tr("Turned round: what the measured pitches say of your entries"),
                self.tr("Quantity by quantity"),
                self.tr("In the reading windows"),
                self.tr("Mind"),
            )
        ]
        self.column.addStretch(1)

    @property
    def by_ear(self) -> bool:
        """Whether the outcome is what was judged by ear."""
        chosen = self._bench.session.choices.get(_CHOICE, "")
        if chosen in (BY_SOUND, BY_EAR):
            return chosen == BY_EAR
        return self._bench.heard is None

    @property
    def turned_round(self) -> QLabel:
        """The sentences that turn the measured values round."""
        return self._lists[0][1]

    def restyle(self) -> None:
        self.table.set_look(self.look, self.points)

    def refresh(self) -> None:
        by_ear = self.by_ear
        self.outcome.setCurrentIndex(self.outcome.findData(BY_EAR if by_ear else BY_SOUND))
        self.ear.setVisible(by_ear)
        reading = read_ear(self._bench.session)
        self.ear.show_reading(reading)
        self.comparison, why = self._by_ear(reading) if by_ear else self._by_sound()
        self.waiting.setText(why)
        self.waiting.setVisible(bool(why))
        c = self.comparison
        for part in (self.headline, self.list_heading, self.list_words, self.table, self.sentence):
            part.setVisible(c is not None)
        turned = [said(t.sentence) for t in c.turned_round] if c else []
        rows = [said(r.sentence) for r in c.rows] if c else []
        windows = [said(r.sentence) for r in c.readings] if c else []
        notes = [said(note) for note in c.notes] if c else []
        texts = (turned, rows, windows, notes)
        for (heading, words), lines in zip(self._lists, texts, strict=True):
            _fill(heading, words, lines)
        if c is not None:
            self._show(c)

    def _show(self, c: Comparison) -> None:
        tones = {AGREE: FITS, DISAGREE: DIFFER}
        self.headline.setText(said(verdict_text(c).split("\n")[0]))
        restyle(self.headline, tone=tones.get(c.overall, UNSURE))
        self.list_heading.setText(_list_heading(c, self))
        self.table.show_explanations(c.explanations)
        self.table.setVisible(bool(c.explanations))
        self._show_sentence(max(self.table.currentRow(), 0))

    def _show_sentence(self, row: int) -> None:
        c = self.comparison
        if c is not None and 0 <= row < len(c.explanations):
            text = said(c.explanations[row].sentence)
            self.sentence.setText(f"{row + 1}. {text[:1].upper()}{text[1:]}")

    def _by_sound(self) -> tuple[Comparison | None, str]:
        bench = self._bench
        if bench.comparison is not None:
            return bench.comparison, ""
        if bench.heard is None:
            return None, self.tr("Open a recording, or choose “judged by ear” above.")
        if bench.prediction is None:
            return None, waiting_for(bench.reading)
        if bench.measurement is None:
            return None, self.tr("The recording is not measured yet.")
        if not bench.measurement.found:
            return None, said(bench.measurement.detection.reason)
        return None, self.tr("Hand and sound cannot be compared; area 3 says why.")

    def _by_ear(self, reading: EarReading) -> tuple[Comparison | None, str]:
        prediction = self._bench.prediction
        if prediction is None:
            return None, waiting_for(self._bench.reading)
        if reading.heard is None:
            if reading.faults:
                return None, self.tr("One entry above cannot be used yet; it says what to do.")
            return None, self.tr("Type the two pitches you heard, each with its uncertainty.")
        try:
            return compare_heard(prediction, reading.heard, reading.harmonic), ""
        except WaysideError as error:
            return None, said(str(error))

    def _chosen(self) -> None:
        self._bench.choose(_CHOICE, str(self.outcome.currentData()), self.tr("choose outcome"))


def _list_heading(c: Comparison, page: ExplainPage) -> str:
    if c.overall == AGREE:
        return page.tr("Nothing needs explaining. These values would fit the pitches best:")
    if any(e.explains for e in c.explanations):
        return page.tr("One of these alone, if wrong, would explain the difference:")
    if c.explanations:
        return page.tr("No single entry explains the difference. These would come closest:")
    return page.tr("No entry can be tested with what was measured.")


def _fill(heading: QLabel, words: QLabel, lines: Sequence[str]) -> None:
    heading.setVisible(bool(lines))
    words.setVisible(bool(lines))
    words.setText("\n".join(f"•  {line}" for line in lines))
