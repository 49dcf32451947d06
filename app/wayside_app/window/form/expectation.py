"""The foot of the form: what to expect from it, or what is still needed."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wayside.hand.predict import Prediction
from wayside.session.hand_form import FormReading
from wayside_app.window import figures
from wayside_app.window.controls import text_label
from wayside_app.window.words import said

_MOST_NAMED = 3


class Expectation(QFrame):
    """Shows speed, source pitch, approach and recede pitch as predicted.

    Signals
    -------
    working_wanted(), budget_wanted()
        The sheet with the worked steps, or with the uncertainties, is wanted.
    """

    working_wanted = Signal()
    budget_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "expect")
        self.headline = text_label("", self.tr("So we expect"))
        self.waiting = text_label("quiet", "", wrap=True)
        self.fault = text_label("fault", "", wrap=True)
        self.working = QPushButton(self.tr("The working"), self)
        self.working.clicked.connect(self.working_wanted)
        self.budget = QPushButton(self.tr("How sure"), self)
        self.budget.clicked.connect(self.budget_wanted)
        self.values: dict[str, QLabel] = {}
        self._labels: list[QLabel] = []
        grid = QGridLayout()
        grid.setVerticalSpacing(1)
        names = {
            "speed_mps": self.tr("speed", "short"),
            "source_hz": self.tr("source pitch", "short"),
            "approach_hz": self.tr("approach pitch", "short"),
            "recede_hz": self.tr("recede pitch", "short"),
        }
        for at, (key, name) in enumerate(names.items()):
            label, value = text_label("", name), text_label("hand-value", "")
            value.setAccessibleName(self.tr("predicted {name}").format(name=name))
            grid.addWidget(label, at, 0)
            grid.addWidget(value, at, 1)
            self.values[key] = value
            self._labels.append(label)
        grid.setColumnStretch(1, 1)
        box = QVBoxLayout(self)
        box.setContentsMargins(12, 8, 10, 8)
        box.setSpacing(3)
        head = QHBoxLayout()
        head.setSpacing(2)
        head.addWidget(self.headline, 1)
        for button in (self.working, self.budget):
            button.setProperty("part", "fold")
            head.addWidget(button)
        box.addLayout(head)
        box.addLayout(grid)
        box.addWidget(self.waiting)
        box.addWidget(self.fault)
        self.fault.hide()

    def show_prediction(self, reading: FormReading, prediction: Prediction | None) -> None:
        """Show a prediction, or what it waits for."""
        for part in (*self.values.values(), *self._labels):
            part.setVisible(prediction is not None)
        self.waiting.setVisible(prediction is None)
        if prediction is not None:
            for key, value in self.values.items():
                value.setText(figures.full(getattr(prediction, key)))
        else:
            self.waiting.setText(self._waiting_for(reading))

    def show_loose_fault(self, sentence: str) -> None:
        """Show a fault that belongs to no single field."""
        self.fault.setText(f"⚠ {said(sentence)}" if sentence else "")
        self.fault.setVisible(bool(sentence))

    def _waiting_for(self, reading: FormReading) -> str:
        if reading.faults:
            return self.tr("One entry above cannot be used yet; it says what to do.")
        names = [said(field.label) for field in reading.missing]
        text = ", ".join(names[:_MOST_NAMED])
        if len(names) > _MOST_NAMED:
            text = self.tr("{names} and {n} more").format(names=text, n=len(names) - _MOST_NAMED)
        return self.tr("Still needed: {names}.").format(names=text)
