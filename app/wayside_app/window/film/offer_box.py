"""The assistant's box: progress with a stop, then one proposal at a time, to be taken or not."""

from __future__ import annotations

import math

from PySide6.QtWidgets import QFrame, QHBoxLayout, QProgressBar, QPushButton, QVBoxLayout, QWidget

from wayside_app.window import figures
from wayside_app.window.controls import text_label
from wayside_app.window.film.offers import PROPOSE, Offer, Offers
from wayside_app.window.jobs import JobRunner
from wayside_app.window.words import said


class OfferBox(QFrame):
    """Hidden while nothing is proposed."""

    def __init__(self, offers: Offers, runner: JobRunner, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._offers = offers
        self.setProperty("part", "expect")
        self.text = text_label("", "", wrap=True)
        self.caution = text_label(
            "quiet",
            self.tr(
                "Only a proposal: it watches what changes along the line and finds the foremost "
                "edge there, which need not be the point you watch. Look at both frames (F)."
            ),
            wrap=True,
        )
        self.fault = text_label("fault", "", wrap=True)
        self.progress = QProgressBar(self)
        self.progress.setRange(0, 1000)
        self.progress.setAccessibleName(self.tr("Progress of the proposals"))
        self.stop = QPushButton(self.tr("Stop"), self)
        self.take = QPushButton(self.tr("Take it (Enter)"), self)
        self.drop = QPushButton(self.tr("No (Esc)"), self)
        self.flip = QPushButton(self.tr("Flip (F)"), self)
        busy = QHBoxLayout()
        busy.addWidget(self.progress, 1)
        busy.addWidget(self.stop)
        answers = QHBoxLayout()
        answers.setSpacing(4)
        for button in (self.take, self.drop, self.flip):
            answers.addWidget(button)
        answers.addStretch(1)
        box = QVBoxLayout(self)
        box.setContentsMargins(10, 6, 8, 6)
        box.setSpacing(4)
        for part in (self.text, self.caution, self.fault):
            box.addWidget(part)
        box.addLayout(busy)
        box.addLayout(answers)
        self.stop.clicked.connect(offers.stop)
        self.take.clicked.connect(offers.take)
        self.drop.clicked.connect(offers.drop)
        self.flip.clicked.connect(offers.flip)
        offers.changed.connect(self._show)
        offers.fault.connect(self._show_fault)
        runner.progress.connect(self._show_progress)
        runner.busy_changed.connect(lambda *_: self._show())
        self._sentence = ""
        self._show()

    def _show(self) -> None:
        busy, offer = self._offers.searching, self._offers.current
        if busy and self.progress.isHidden():
            self.progress.setValue(0)
            self.progress.setFormat(self.tr("Watching the lines"))
        self.progress.setVisible(busy)
        self.stop.setVisible(busy)
        for part in (self.take, self.drop, self.flip, self.text, self.caution):
            part.setVisible(offer is not None)
        if offer is not None:
            self.text.setText(self._words(offer))
        self.fault.setVisible(bool(self._sentence))
        self.setVisible(busy or offer is not None or bool(self._sentence))

    def _words(self, offer: Offer) -> str:
        crossing = offer.proposal.crossing
        reached = offer.proposal.edge == "front"
        sentence = (
            self.tr("Marker {n}, proposal {k} of {of}: something reaches the line at {time}.")
            if reached
            else self.tr("Marker {n}, proposal {k} of {of}: something leaves the line at {time}.")
        )
        return sentence.format(
            n=offer.marker + 1, k=offer.number, of=offer.of, time=figures.full(crossing.time)
        )

    def _show_fault(self, sentence: str) -> None:
        self._sentence = sentence
        self.fault.setText(f"⚠ {sentence}" if sentence else "")
        self._show()

    def _show_progress(self, kind: str, fraction: float, message: str) -> None:
        if kind == PROPOSE and math.isfinite(fraction):
            self.progress.setValue(round(1000 * fraction))
            self.progress.setFormat(f"{said(message)}  %p %")
