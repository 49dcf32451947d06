"""Below the table: name, group and way of the runs that are chosen, and what is known of one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from wayside.session.run import Run
from wayside_app.window.bench import Bench
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.runs.model import Line, ways
from wayside_app.window.runs.run_edits import edit_runs


class ChosenBox(QFrame):
    """Edits the chosen runs; one keystroke changes them all, one undo step brings them back."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "step")
        self._bench = bench
        self._runs: tuple[Run, ...] = ()
        self._visit = 0
        self.heading = text_label("step-title")
        self.name = _box(self.tr("Name of the run"))
        self.group = _box(self.tr("Group"))
        self.way = Choice(self.tr("Way"))
        for key, word in ways().items():
            self.way.addItem(word or self.tr("not said"), key)
        self.about = text_label("", wrap=True)
        self.about.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        row = QHBoxLayout()
        row.setSpacing(8)
        row.addWidget(self.heading)
        row.addStretch(1)
        for words, box, width in (
            (self.tr("name"), self.name, 200),
            (self.tr("group"), self.group, 130),
            (self.tr("way"), self.way, 0),
        ):
            label = text_label("quiet", words)
            label.setBuddy(box)
            if width:
                box.setMinimumWidth(width)
            row.addWidget(label)
            row.addWidget(box)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(10, 6, 10, 6)
        whole.setSpacing(4)
        whole.addLayout(row)
        whole.addWidget(self.about)
        self.name.textEdited.connect(self._rename)
        self.group.textEdited.connect(self._regroup)
        self.way.activated.connect(self._turn)
        for box in (self.name, self.group):
            box.editingFinished.connect(self._end_visit)

    @property
    def has_keyboard(self) -> bool:
        """True while the user is in one of its fields."""
        return any(box.hasFocus() for box in (self.name, self.group, self.way))

    def show_runs(self, runs: Sequence[Run], line: Line | None) -> None:
        """Show the chosen runs; what is known is said of a single one."""
        before = [run.key for run in self._runs]
        self._runs = tuple(runs)
        if before != [run.key for run in runs]:
            self._visit += 1
        one = len(runs) == 1
        if not runs:
            self.heading.setText(self.tr("No run is chosen"))
        elif one:
            self.heading.setText(self.tr("The chosen run"))
        else:
            self.heading.setText(self.tr("{count} chosen runs").format(count=len(runs)))
        self.name.setEnabled(one)
        for box in (self.group, self.way):
            box.setEnabled(bool(runs))
        _put(self.name, runs[0].name if one else "")
        self.name.setPlaceholderText(line.row.name if one and line is not None else "")
        groups = {run.group for run in runs}
        _put(self.group, groups.pop() if len(groups) == 1 else "")
        self.group.setPlaceholderText(self.tr("several") if groups else "")
        directions = {run.direction for run in runs}
        self.way.setCurrentIndex(
            self.way.findData(directions.pop()) if len(directions) == 1 else -1
        )
        self.about.setText(" ".join(line.sentences) if one and line is not None else "")
        self.about.setVisible(bool(self.about.text()))

    def _rename(self, text: str) -> None:
        self._edit(self.tr("rename a run"), "name", text)

    def _regroup(self, text: str) -> None:
        self._edit(self.tr("change the group"), "group", text)

    def _turn(self, at: int) -> None:
        self._edit(self.tr("change the way"), "direction", str(self.way.itemData(at)))

    def _edit(self, name: str, what: str, value: str) -> None:
        runs = [replace(run, **{what: value}) for run in self._runs]  # type: ignore[arg-type]
        self._runs = tuple(runs)
        topic = "" if what == "direction" else f"runs {what} {self._visit}"
        edit_runs(self._bench, name, runs, topic)

    def _end_visit(self) -> None:
        self._visit += 1


def _box(name: str) -> QLineEdit:
    box = QLineEdit()
    box.setAccessibleName(name)
    box.setMaxLength(200)
    return box


def _put(box: QLineEdit, text: str) -> None:
    """Show a text without moving the cursor of who is typing it."""
    if box.text() != text:
        box.setText(text)
