"""A number to type with its unit and uncertainty, and the fault that belongs to it."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QWidget

from wayside.film.marks import Typed
from wayside.hand.units import Dimension, units_of
from wayside_app.window import figures
from wayside_app.window.controls import Choice, restyle, text_label
from wayside_app.window.language import numbers
from wayside_app.window.words import said


class TypedRow(QWidget):
    """Shows one typed number.

    Parameters
    ----------
    name : str
        What it is, also for screen readers.
    dimension : Dimension

    Signals
    -------
    edited(Typed)
        A keystroke, or another unit.
    settled()
        The keyboard left a box.
    """

    edited = Signal(object)
    settled = Signal()

    def __init__(self, name: str, dimension: Dimension, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.label = text_label("", name, wrap=True)
        self.value = QLineEdit(self)
        self.value.setAccessibleName(name)
        self.label.setBuddy(self.value)
        self.unit = Choice(self.tr("unit of {name}").format(name=name), self)
        for unit in units_of(dimension):
            self.unit.addItem(unit.symbol, unit.symbol)
        self.u = QLineEdit(self)
        self.u.setAccessibleName(self.tr("standard uncertainty of {name}").format(name=name))
        self.u.setToolTip(self.tr("How far it may typically be off, in the same unit."))
        self.fault = text_label("fault", "", wrap=True)
        self.fault.hide()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(5)
        grid.setVerticalSpacing(2)
        grid.addWidget(self.label, 0, 0, 1, 4)
        grid.addWidget(self.value, 1, 0)
        grid.addWidget(self.unit, 1, 1)
        grid.addWidget(text_label("quiet", "±"), 1, 2)
        grid.addWidget(self.u, 1, 3)
        grid.addWidget(self.fault, 2, 0, 1, 4)
        grid.setColumnStretch(0, 5)
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(3, 4)
        for box in (self.value, self.u):
            box.setMinimumWidth(40)
            box.textEdited.connect(self._tell)
            box.editingFinished.connect(self.settled)
        self.unit.setMinimumWidth(40)
        self.unit.activated.connect(self._tell)

    def show_typed(self, typed: Typed, fault: str = "", hint: str = "") -> None:
        """Show what was typed, what is wrong with it, and a hint while it is blank."""
        for box, text in ((self.value, typed.text), (self.u, typed.u_text)):
            if numbers.plain(box.text()) != numbers.plain(text):
                box.setText(figures.typed(text))
        at = self.unit.findData(typed.unit)
        self.unit.setCurrentIndex(max(0, at))
        self.value.setPlaceholderText(hint)
        # a missing uncertainty is no fault while the row is being typed
        inside = self.value.hasFocus() or self.u.hasFocus()
        unfinished = inside and not typed.u_text.strip()
        sentence = "" if unfinished else said(fault)
        self.fault.setText(f"⚠ {sentence}" if sentence else "")
        self.fault.setVisible(bool(sentence))
        restyle(self.value, faulty=bool(sentence))

    def _tell(self) -> None:
        unit = self.unit.currentData(Qt.ItemDataRole.UserRole)
        value, u = numbers.plain(self.value.text()), numbers.plain(self.u.text())
        self.edited.emit(Typed(value, unit, u))
