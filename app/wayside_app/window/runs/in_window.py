"""What a window does with several runs: takes their files, lists them, steps through them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QFileDialog

from wayside.session.session import MOST_RUNS
from wayside_app.window.pages.pages import RUNS
from wayside_app.window.runs.dropped import take_dropped
from wayside_app.window.runs.run_edits import add_run, open_recordings, step_run
from wayside_app.window.runs.runs_page import RunsPage
from wayside_app.window.words import said

if TYPE_CHECKING:
    from wayside_app.window.main_window import MainWindow


class RunsInWindow:
    """The runs of one window."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self._page: RunsPage | None = None
        self._was_full = False

    @property
    def page(self) -> RunsPage:
        """The sheet of the runs, made when it is first needed."""
        page = self._window.pages.page(RUNS)
        assert isinstance(page, RunsPage)
        if self._page is None:
            self._page = page
            page.add_wanted.connect(self.ask_add)
            page.review_wanted.connect(self.toggle_review)
        return page

    def show_all(self) -> None:
        """Bring the list of runs to the front."""
        self.leave_review()
        self._window.leave_projector()
        assert self.page is not None
        self._window.pages.turn_to(RUNS)

    def step(self, by: int) -> None:
        """Show the next run, or the one before."""
        step_run(self._window.bench, by)

    def add(self) -> None:
        """Start the next run with the same set-up, ready for its recording."""
        add_run(self._window.bench)
        self._window.pages.turn_back()

    def ask_add(self) -> None:
        """Let the user choose recordings and make a run of each."""
        window = self._window
        names, _ = QFileDialog.getOpenFileNames(
            window, _tr("Add recordings"), window.preferences.folder, _tr("All files (*)")
        )
        if names:
            self.take([Path(name) for name in names])

    def take(self, paths: Sequence[Path]) -> None:
        """Make a run of each recording; a session among the files is opened instead."""
        window = self._window
        dropped = take_dropped(paths, window.bench.services.read_setup)
        if dropped.session is not None:
            window.open_path(dropped.session)
            return
        room = MOST_RUNS - len(window.bench.session.runs)
        if len(dropped.recordings) > room:
            window.banner.say(
                _tr(
                    "A session holds at most {most} runs, and there is room for {room} more; "
                    "start another session for the rest."
                ).format(most=MOST_RUNS, room=room)
            )
            return
        if dropped.recordings:
            window.preferences.folder = str(dropped.recordings[0].parent)
            open_recordings(window.bench, dropped.recordings, dropped.setups)
            self.show_all()
        # what cannot be used is said; nothing that can is held up by it
        window.banner.say(" ".join(said(fault) for fault in dropped.faults))

    # --- side by side -----------------------------------------------------------------------

    def toggle_review(self) -> None:
        """Go to the runs side by side, or back."""
        window = self._window
        if window.stack.currentWidget() is window.review:
            self.leave_review()
            return
        window.leave_projector()
        over = self.page.other_chosen if window.pages.key == RUNS else None
        self._was_full = window.isFullScreen()
        window.stack.setCurrentWidget(window.review)
        window.review.set_over(over)
        window.menuBar().hide()
        window.showFullScreen()
        window.review.setFocus()

    def leave_review(self) -> None:
        """Go back from the runs side by side."""
        window = self._window
        if window.stack.currentWidget() is not window.review:
            return
        window.stack.setCurrentWidget(window.page)
        window.menuBar().show()
        if not self._was_full:
            window.showNormal()


def _tr(text: str) -> str:
    return QCoreApplication.translate("Runs", text)
