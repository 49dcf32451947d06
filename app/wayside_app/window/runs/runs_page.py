"""The sheet of the runs: one row a run, what they say together, and what can be done with them."""

from __future__ import annotations

import time
from dataclasses import replace

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QWidget,
)

from wayside.review.row import run_row
from wayside_app.window.bench import Bench
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.pages.page import Page
from wayside_app.window.runs.chosen_box import ChosenBox
from wayside_app.window.runs.model import (
    AGREES,
    ANY,
    DIFFERS,
    KEY_ROLE,
    NOTHING,
    ODD,
    UNSURE,
    Line,
    RunsModel,
    RunsProxy,
)
from wayside_app.window.runs.pooler import Pooler
from wayside_app.window.runs.run_edits import add_run, copy_set_up, remove_runs, show_run
from wayside_app.window.runs.runs_table import RunsTable
from wayside_app.window.runs.store import unique_title
from wayside_app.window.runs.together_box import TogetherBox
from wayside_app.window.theme.looks import Look

_AT_ONCE_S = 0.05


class RunsPage(Page):
    """Lists the runs.

    Signals
    -------
    add_wanted()
        Recordings are to be chosen and added.
    review_wanted()
        The runs are to be seen side by side.
    """

    add_wanted = Signal()
    review_wanted = Signal()

    needs_room = True

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(self.tr("The runs"), "", "number-both", parent)
        self._bench = bench
        self._chosen: frozenset[int] = frozenset()
        self.model = RunsModel(self)
        self.proxy = RunsProxy(self.model, self)
        self.table = RunsTable(self.model, self.proxy, self)
        self.box = ChosenBox(bench, self)
        self.count = text_label("quiet")
        self.together = TogetherBox(self)
        self.pooler = Pooler(bench.runner, self)
        self._lay_out()
        self._fill = QTimer(self)
        self._fill.setSingleShot(True)
        self._fill.setInterval(0)
        self._fill.timeout.connect(self.mark_stale)
        bench.rest.changed.connect(self.mark_stale)
        self.pooler.pooled.connect(self._take_together)
        self.table.show_wanted.connect(self._show_run)
        self.table.remove_wanted.connect(self._remove)
        self.table.chosen.connect(self._choose)

    def _lay_out(self) -> None:
        self.finder = QLineEdit(self)
        self.finder.setAccessibleName(self.tr("Show only runs with this text"))
        self.finder.setPlaceholderText(self.tr("find in all columns"))
        self.finder.setClearButtonEnabled(True)
        self.group = Choice(self.tr("Show only this group"))
        self.kind = Choice(self.tr("Show only runs with this verdict"))
        for key, words in (
            (ANY, self.tr("every verdict")),
            (AGREES, self.tr("agree")),
            (DIFFERS, self.tr("do not agree")),
            (UNSURE, self.tr("cannot be told")),
            (ODD, self.tr("stand out")),
            (NOTHING, self.tr("not measured")),
        ):
            self.kind.addItem(words, key)
        self.progress = QProgressBar(self)
        self.progress.setAccessibleName(self.tr("Progress of the other runs"))
        self.progress.setRange(0, 1000)
        self.stop = QPushButton(self.tr("Stop"), self)
        self.again = QPushButton(self.tr("Measure what is missing"), self)
        head = QHBoxLayout()
        head.setSpacing(8)
        head.addWidget(self.finder, 2)
        head.addWidget(self.group, 1)
        head.addWidget(self.kind, 1)
        head.addWidget(self.count, 1)
        head.addWidget(self.progress, 2)
        head.addWidget(self.stop)
        head.addWidget(self.again)
        self.column.addLayout(head)
        self.column.addWidget(self.table)
        self.column.addWidget(self.box)
        self.column.addLayout(self._buttons())
        self.column.addWidget(self.together)
        self.column.addStretch(1)
        self.finder.textChanged.connect(self._filter)
        self.group.activated.connect(self._filter)
        self.kind.activated.connect(self._filter)
        self.stop.clicked.connect(self._bench.stop)
        self.again.clicked.connect(self._bench.measure_again)

    def _buttons(self) -> QGridLayout:
        self.show_button = QPushButton(self.tr("Show this run"), self)
        self.new_button = QPushButton(self.tr("Next run, same set-up"), self)
        self.add_button = QPushButton(self.tr("Add recordings …"), self)
        self.copy_button = QPushButton(self.tr("Give them the shown run's set-up"), self)
        self.remove_button = QPushButton(self.tr("Remove"), self)
        self.remove_button.setAccessibleName(self.tr("Remove the chosen runs"))
        self.review_button = QPushButton(self.tr("Side by side"), self)
        self.show_button.clicked.connect(lambda: self._show_run(self.table.current_key or 0))
        self.new_button.clicked.connect(lambda: add_run(self._bench))
        self.add_button.clicked.connect(self.add_wanted)
        self.copy_button.clicked.connect(lambda: copy_set_up(self._bench, self.table.keys))
        self.remove_button.clicked.connect(self._remove)
        self.review_button.clicked.connect(self.review_wanted)
        grid = QGridLayout()
        grid.setSpacing(6)
        for at, button in enumerate(
            (
                self.show_button,
                self.review_button,
                self.new_button,
                self.add_button,
                self.copy_button,
                self.remove_button,
            )
        ):
            grid.addWidget(button, 0, at)
        return grid

    # --- the sheet ------------------------------------------------------------------------

    def first_stop(self) -> QWidget:
        """Return what gets the keyboard when the sheet is turned to."""
        if not self.table.keys:
            self.table.choose(frozenset({self._bench.session.run.key}))
        return self.table

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        super().set_look(look, font)
        self.table.set_look(look, font)
        self.together.set_look(look, font)

    @property
    def other_chosen(self) -> int | None:
        """Key of a chosen run that is not the one shown, to set beside it."""
        others = [key for key in self.table.keys if key != self._bench.session.run.key]
        return others[0] if len(others) == 1 else None

    def refresh(self) -> None:
        """Show the runs; rows that take time come one by one."""
        lines, complete = self._lines()
        self._show_lines(lines)
        if complete:
            self._show_together()
        else:
            self._fill.start()
        self._show_groups()
        self._show_state()
        self._choose()

    def _lines(self) -> tuple[list[Line], bool]:
        bench, session = self._bench, self._bench.session
        until = time.perf_counter() + _AT_ONCE_S
        lines, complete = [], True
        for at, run in enumerate(session.runs):
            if bench.runs.is_ready(session, at) or time.perf_counter() < until:
                row = bench.runs.seen(session, at).row
            else:
                name = unique_title(session, at)
                row = run_row(name, None, group=run.group, direction=run.direction)
                complete = False
            doing = self._doing(run.key, row.outcome == "waiting" and run.media is not None)
            odd = self.pooler.everyone.odd.get(row.name, ())
            lines.append(Line(run.key, at, row, at == session.shown, doing, odd))
        return lines, complete

    def _doing(self, key: int, waits: bool) -> str:
        if not waits:
            return ""
        if key in self._bench.rest.measuring:
            return self.tr("being measured …")
        if self._bench.rest.stopped:
            return self.tr("stopped")
        return self.tr("waits its turn")

    def _show_lines(self, lines: list[Line]) -> None:
        before = self.model.lines
        if before == tuple(lines):
            return
        self.model.show_lines(lines)
        self.proxy.invalidate()
        if [line.key for line in before] != [line.key for line in lines]:
            self.table.choose(self._chosen or frozenset({self._bench.session.run.key}))
        self.table.fit()

    def _in_sight(self) -> list[Line]:
        keys = {self.proxy.index(at, 0).data(KEY_ROLE) for at in range(self.proxy.rowCount())}
        return [line for line in self.model.lines if line.key in keys]

    def _show_together(self) -> None:
        """Pool the runs in sight; which stands out is judged among all of them."""
        in_sight = self._in_sight()
        self.pooler.ask(
            tuple(line.row for line in self.model.lines), tuple(line.row for line in in_sight)
        )
        count, total = len(in_sight), len(self.model.lines)
        self.count.setText(self.tr("{count} of {total} runs").format(count=count, total=total))

    def _take_together(self) -> None:
        odd = self.pooler.everyone.odd
        self._show_lines(
            [replace(line, odd=odd.get(line.row.name, ())) for line in self.model.lines]
        )
        in_sight = self._in_sight()
        self.together.show_together(self.pooler.in_sight, len(in_sight), len(self.model.lines))
        self._choose()

    def _show_groups(self) -> None:
        groups = self._bench.session.groups
        shown = [self.group.itemData(at) for at in range(1, self.group.count())]
        if self.group.count() and shown == list(groups):
            return
        wanted = self.group.currentData()
        self.group.clear()
        self.group.addItem(self.tr("every group"), None)
        for group in groups:
            self.group.addItem(group, group)
        self.group.setCurrentIndex(max(0, self.group.findData(wanted)) if wanted else 0)
        self._filter()

    def _show_state(self) -> None:
        rest = self._bench.rest
        waiting = len(rest.waiting())
        self.progress.setVisible(rest.busy)
        self.progress.setValue(round(1000 * rest.share))
        self.progress.setFormat(self.tr("measuring, {left} to go").format(left=waiting))
        self.stop.setVisible(rest.busy)
        failed = any(line.row.outcome == "failed" for line in self.model.lines)
        self.again.setVisible(not rest.busy and (failed or (rest.stopped and waiting > 0)))
        self.count.setVisible(not rest.busy)

    # --- what the user does ---------------------------------------------------------------

    def _filter(self) -> None:
        self.proxy.set_filter(
            self.finder.text(), self.group.currentData(), self.kind.currentData() or ANY
        )
        self.table.choose(self._chosen)
        self._show_together()
        self._choose()

    def _choose(self) -> None:
        keys = self.table.keys
        if not keys and self.box.has_keyboard:
            # what is being typed may take the run out of sight; it is still the one meant
            keys = self._chosen
        if keys:
            self._chosen = keys
        session = self._bench.session
        runs = [run for run in session.runs if run.key in keys]
        line = self.model.line(runs[0].key) if len(runs) == 1 else None
        self.box.show_runs(runs, line)
        self.show_button.setEnabled(self.table.current_key is not None)
        self.remove_button.setEnabled(bool(runs))
        others = keys - {session.run.key}
        self.copy_button.setEnabled(bool(others))

    def _show_run(self, key: int) -> None:
        place = self._bench.session.place(key)
        if place is not None:
            show_run(self._bench, place)

    def _remove(self) -> None:
        if self.table.keys:
            remove_runs(self._bench, self.table.keys)
