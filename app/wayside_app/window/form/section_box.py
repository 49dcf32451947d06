"""One section of the form: its heading, the choice of way, and the rows of that way."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from wayside.hand.fields import Field, Section
from wayside.session.hand_form import chosen_way, way_key
from wayside.session.session import Session
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.form.field_row import FieldRow
from wayside_app.window.words import said


class SectionBox(QWidget):
    """Shows a section.

    Signals
    -------
    edited(path, entry), entered(path), left(path)
        From its rows.
    way_chosen(key, answer, name)
        Another way to fill the section in.
    """

    edited = Signal(str, object)
    entered = Signal(str)
    left = Signal(str)
    way_chosen = Signal(str, str, str)

    def __init__(
        self, section: Section, parent: QWidget | None = None, with_u: bool = True
    ) -> None:
        super().__init__(parent)
        self.section = section
        self._with_u = with_u
        self.rows: dict[str, FieldRow] = {}
        self._all_rows: dict[str, FieldRow] = {}
        self._questions: list[Choice] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 8)
        self._column.setSpacing(3)
        title = self.tr("Source") if section.key == "source" else said(section.label)
        self._column.addWidget(text_label("group", title))
        self._top = QVBoxLayout()
        self._column.addLayout(self._top)
        self.way: Choice | None = None
        if len(section.ways) > 1:
            name = self.tr("how {section} was measured").format(section=said(section.label))
            self.way = Choice(name, self, yielding=True)
            for way in section.ways:
                label = said(way.label)
                self.way.addItem(self.tr("By {way}").format(way=label), way.key)
            self.way.activated.connect(self._way_chosen)
            self._column.addWidget(self.way)
        self._needed = QVBoxLayout()
        self._column.addLayout(self._needed)
        self.more = QPushButton(self)
        self.more.setAccessibleName(
            self.tr("More fields for {section}").format(section=said(section.label))
        )
        self.more.setProperty("part", "fold")
        self.more.setCheckable(True)
        self.more.setVisible(bool(section.optional) and bool(section.ways))
        self.more.toggled.connect(lambda _: self._show_more())
        self._column.addWidget(self.more)
        self._spare = QVBoxLayout()
        self._column.addLayout(self._spare)
        for field in section.optional:
            self._spare.addWidget(self._row(field))
        self._show_more()

    def put_on_top(self, name: str, choice: Choice) -> None:
        """Place a question that decides about the whole section above its rows."""
        if choice.parentWidget() is self:
            return
        self._questions.append(choice)
        choice.setParent(self)
        if name:
            label = text_label("", name)
            label.setBuddy(choice)
            self._top.addWidget(label)
        self._top.addWidget(choice)
        choice.show()

    def show_session(self, session: Session) -> None:
        """Show the rows of the chosen way with what was typed in them."""
        way = chosen_way(session, self.section)
        if self.way is not None and way is not None:
            self.way.setCurrentIndex(self.way.findData(way.key))
        needed = way.fields if way is not None else ()
        spare = self.section.optional
        shown = {f.path: self._row(f) for f in (*needed, *spare)}
        if list(shown) != list(self.rows):
            for row in self.rows.values():
                if row.field.path not in shown:
                    self._needed.removeWidget(row)
                    row.hide()
            for at, field in enumerate(needed):
                row = shown[field.path]
                self._needed.insertWidget(at, row)
                row.show()
            self.rows = shown
        for path, row in self.rows.items():
            row.show_entry(session.entry(path))
        if any(not session.entry(f.path).blank for f in spare):
            self.more.setChecked(True)
        self._show_more()

    def key_stops(self) -> list[QWidget]:
        """Return everything the keyboard visits here, in reading order."""
        stops: list[QWidget] = list(self._questions)
        if self.way is not None:
            stops.append(self.way)
        spare = {f.path for f in self.section.optional}
        needed = [row for path, row in self.rows.items() if path not in spare]
        extra = [row for path, row in self.rows.items() if path in spare]
        for row in needed:
            stops += row.key_stops()
        stops.append(self.more)
        for row in extra:
            stops += row.key_stops()
        return stops

    def _row(self, field: Field) -> FieldRow:
        row = self._all_rows.get(field.path)
        if row is None:
            row = FieldRow(field, self, self._with_u)
            row.edited.connect(self.edited)
            row.entered.connect(self.entered)
            row.left.connect(self.left)
            self._all_rows[field.path] = row
        return row

    def _show_more(self) -> None:
        unfolded = self.more.isChecked() or not self.section.ways
        for field in self.section.optional:
            self._row(field).setVisible(unfolded)
        sign = "▾ " if unfolded else "▸ "
        self.more.setText(sign + (self.tr("less") if unfolded else self.tr("more")))

    def _way_chosen(self) -> None:
        if self.way is not None:
            name = self.tr("choose how {section} was measured").format(
                section=said(self.section.label)
            )
            self.way_chosen.emit(way_key(self.section), self.way.currentData(), name)
