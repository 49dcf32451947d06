"""One hand measurement on the form: value, unit, uncertainty, advice, and its own fault."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLineEdit, QPushButton, QWidget

from wayside.hand.fields import Field
from wayside.hand.setup import can_share
from wayside.hand.units import units_of
from wayside.session.session import Entry
from wayside_app.window import figures
from wayside_app.window.controls import Choice, restyle, text_label
from wayside_app.window.form.detail_box import DetailBox, sign_of
from wayside_app.window.language import numbers
from wayside_app.window.words import said


class FieldRow(QWidget):
    """Shows one field; tells every keystroke as a whole new entry.

    Signals
    -------
    edited(path, entry)
    entered(path), left(path)
        The keyboard came to one of the row's boxes or went from it.
    """

    edited = Signal(str, object)
    entered = Signal(str)
    left = Signal(str)

    def __init__(self, field: Field, parent: QWidget | None = None, with_u: bool = True) -> None:
        super().__init__(parent)
        self.field = field
        name = said(field.label)
        self._entry = Entry(unit=field.unit)
        self._fault = ""
        self.label = text_label("", name[:1].upper() + name[1:], wrap=True)
        self.value = QLineEdit(self)
        self.value.setAccessibleName(name)
        self.value.setAccessibleDescription(said(field.hint))
        self.label.setBuddy(self.value)
        self.unit = Choice(self.tr("unit of {name}").format(name=name), self)
        for unit in units_of(field.dimension):
            self.unit.addItem(unit.symbol or self.tr("(number)"), unit.symbol)
        self.unit.setVisible(self.unit.count() > 1 or bool(self.unit.itemData(0)))
        self.unit.setEnabled(self.unit.count() > 1)
        self._details: DetailBox | None = None
        self.about = QPushButton(self.tr("±"), self)
        self.about.setProperty("part", "fold")
        self.about.setCheckable(True)
        self.about.setAccessibleName(self.tr("what ± means for {name}").format(name=name))
        self.about.setToolTip(
            self.tr("What ± means here: limits, scale step, repeated readings, shared instrument.")
        )
        self.about.toggled.connect(self._unfold)
        self.u = QLineEdit(self)
        self.u.setAccessibleName(self.tr("standard uncertainty of {name}").format(name=name))
        self.u.setAccessibleDescription(
            self.tr("How far the value may typically be off, in the same unit.")
        )
        self.u.setToolTip(
            self.tr(
                "Standard uncertainty: how far the value may typically be off, in the same unit."
            )
        )
        self.u.setPlaceholderText(self.tr("exact") if field.exact else "")
        self.summary = text_label("quiet", "", wrap=True)
        self.summary.hide()
        self.fault = text_label("fault", "", wrap=True)
        self.fault.hide()
        self._lay_out()
        self.show_entry(self._entry)
        self.value.textEdited.connect(self._tell)
        self.u.textEdited.connect(self._tell)
        self.unit.activated.connect(self._tell)
        self.about.setVisible(with_u)
        self.u.setVisible(with_u)
        for stop in self.key_stops():
            stop.installEventFilter(self)

    def _lay_out(self) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 6)
        grid.setHorizontalSpacing(5)
        grid.setVerticalSpacing(2)
        grid.addWidget(self.label, 0, 0, 1, 4)
        grid.addWidget(self.value, 1, 0)
        grid.addWidget(self.unit, 1, 1)
        grid.addWidget(self.about, 1, 2)
        grid.addWidget(self.u, 1, 3)
        self._grid = grid
        grid.addWidget(self.summary, 3, 0, 1, 4)
        grid.addWidget(self.fault, 4, 0, 1, 4)
        grid.setColumnStretch(0, 5)
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(3, 3)
        for part in (self.value, self.unit, self.u):
            part.setMinimumWidth(40)

    def key_stops(self) -> list[QWidget]:
        """Return everything the keyboard visits here, in reading order."""
        details = self._details.parts() if self._details is not None else ()
        return [self.value, self.unit, self.about, self.u, *details]

    @property
    def details(self) -> DetailBox:
        """What stands behind the ±; made when first asked for, as most rows never need it."""
        if self._details is None:
            self._details = DetailBox(said(self.field.label), can_share(self.field), self)
            self._details.hide()
            self._details.show_entry(self._entry)
            self._details.edited.connect(self._tell)
            self._grid.addWidget(self._details, 2, 0, 1, 4)
            before: QWidget = self.u
            for part in self._details.parts():
                part.installEventFilter(self)
                QWidget.setTabOrder(before, part)
                before = part
        return self._details

    def entry(self) -> Entry:
        """Return what the row holds now."""
        return self._entry

    def show_entry(self, entry: Entry) -> None:
        """Show an entry without telling anybody; a cursor in an unchanged text stays put."""
        unit = entry.unit or self.field.unit
        self._entry = Entry(entry.text, unit, entry.u_text, entry.u_kind, entry.extra)
        for box, text in ((self.value, entry.text), (self.u, entry.u_text)):
            if numbers.plain(box.text()) != numbers.plain(text):
                box.setText(figures.typed(text))
                box.setCursorPosition(0)
        at = self.unit.findData(unit)
        if at < 0:
            self.unit.addItem(unit, unit)
            at = self.unit.count() - 1
            self.unit.setEnabled(True)
            self.unit.show()
        self.unit.setCurrentIndex(at)
        if self._details is not None:
            self._details.show_entry(entry)
        self.about.setText(sign_of(entry.u_kind))

    def show_summary(self, text: str) -> None:
        """Show what readings, limits and steps come to; an empty text hides it."""
        self.summary.setText(text)
        self.summary.setVisible(bool(text))

    def show_fault(self, sentence: str) -> None:
        """Show what is wrong with the entry at the field; an empty sentence clears it."""
        self._fault = sentence = said(sentence)
        self.fault.setText(f"⚠ {sentence}" if sentence else "")
        self.fault.setVisible(bool(sentence))
        restyle(self.value, faulty=bool(sentence))
        self.value.setAccessibleDescription(sentence or said(self.field.hint))

    def hasFocusInside(self) -> bool:
        """Tell whether the keyboard is in this row."""
        return any(part.hasFocus() for part in self.key_stops())

    @property
    def fault_text(self) -> str:
        """The sentence shown at the field, empty when all is well."""
        return self._fault

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.FocusIn:
            self.entered.emit(self.field.path)
        elif event.type() == QEvent.Type.FocusOut:
            self.left.emit(self.field.path)
        return bool(super().eventFilter(watched, event))

    def _unfold(self, wanted: bool) -> None:
        self.details.setVisible(wanted)

    def _tell(self) -> None:
        unit = self.unit.currentData(Qt.ItemDataRole.UserRole)
        old, details = self._entry, self._details
        self._entry = Entry(
            numbers.plain(self.value.text()),
            unit,
            numbers.plain(self.u.text()),
            old.u_kind if details is None else details.u_kind,
            old.extra if details is None else details.extra,
        )
        self.edited.emit(self.field.path, self._entry)
