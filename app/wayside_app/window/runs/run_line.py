"""Above the areas, once there are several runs: which one is shown, and the way to the next."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QSizePolicy, QWidget

from wayside_app.window.bench import Bench
from wayside_app.window.controls import text_label
from wayside_app.window.runs.model import ways
from wayside_app.window.runs.run_edits import step_run
from wayside_app.window.runs.store import unique_title


class RunLine(QFrame):
    """Hidden while there is one run.

    Signals
    -------
    all_wanted()
        The sheet of the runs is wanted.
    """

    all_wanted = Signal()

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self.setAccessibleName(self.tr("Which run is shown"))
        self.before = QPushButton("◂", self)
        self.before.setAccessibleName(self.tr("Run before"))
        self.after = QPushButton("▸", self)
        self.after.setAccessibleName(self.tr("Next run"))
        self.all = QPushButton(self.tr("All runs"), self)
        self.name = text_label("title")
        self.name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        row = QHBoxLayout(self)
        row.setContentsMargins(4, 0, 4, 2)
        row.setSpacing(6)
        row.addWidget(self.before)
        row.addWidget(self.after)
        row.addSpacing(6)
        row.addWidget(self.name, 1)
        row.addWidget(self.all)
        self.before.clicked.connect(lambda: step_run(bench, -1))
        self.after.clicked.connect(lambda: step_run(bench, 1))
        self.all.clicked.connect(self.all_wanted)
        bench.session_changed.connect(self._show)
        self._show()

    def _show(self) -> None:
        session = self._bench.session
        self.setVisible(len(session.runs) > 1)
        run = session.run
        parts = [
            self.tr("Run {number} of {count}: {name}").format(
                number=session.shown + 1,
                count=len(session.runs),
                name=unique_title(session, session.shown),
            )
        ]
        if run.group:
            parts.append(self.tr("group {group}").format(group=run.group))
        if way := ways().get(run.direction):
            parts.append(way)
        self.name.setText(", ".join(parts))
