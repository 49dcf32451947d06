"""The stack of sheets: the recording with its verdict in front, the others behind it."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QStackedWidget, QWidget

from wayside_app.window.bench import Bench
from wayside_app.window.pages.page import Page
from wayside_app.window.theme.looks import Look

WORKING, BUDGET, CHOICES, EXPLAIN, PLAN = "working", "budget", "choices", "explain", "plan"
FILM, RUNS = "film", "runs"


def titles() -> dict[str, str]:
    """Return the sheets in order, with their titles."""
    return {
        WORKING: _tr("The working"),
        BUDGET: _tr("How sure"),
        CHOICES: _tr("What choices do"),
        EXPLAIN: _tr("What would explain it"),
        PLAN: _tr("Plan a demonstration"),
    }


class Pages(QStackedWidget):
    """Holds the sheets; each is made when it is first turned to.

    Signals
    -------
    turned(key)
        Another sheet lies in front; the empty key is the recording.
    """

    turned = Signal(str)

    def __init__(self, bench: Bench, front: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._front = front
        self._pages: dict[str, Page] = {}
        self._look: tuple[Look, QFont] | None = None
        self._came_from: QWidget | None = None
        self.addWidget(front)
        # every edit and every measurement ends with a comparison, possibly of nothing
        bench.compared.connect(self._mark_stale)
        bench.recording_opened.connect(self.turn_back)

    @property
    def key(self) -> str:
        """The sheet in front; empty for the recording."""
        return next((k for k, page in self._pages.items() if page is self.currentWidget()), "")

    @property
    def needs_room(self) -> bool:
        """True while the sheet in front takes the form's room too."""
        page = self.currentWidget()
        return isinstance(page, Page) and page.needs_room

    def page(self, key: str) -> Page:
        """Return a sheet, made now if it was never needed."""
        if key not in self._pages:
            page = _make(key, self._bench)
            page.back_wanted.connect(self.turn_back)
            page.turn_wanted.connect(self.turn_to)
            page.set_neighbours(*_neighbours(key))
            self._pages[key] = page
            self.addWidget(page)
            if self._look is not None:
                page.set_look(*self._look)
        return self._pages[key]

    def turn_to(self, key: str) -> None:
        """Bring a sheet to the front and the keyboard onto it."""
        page = self.page(key)
        if not self.key:
            self._came_from = self.window().focusWidget()
        self.setCurrentWidget(page)
        self.turned.emit(key)
        page.first_stop().setFocus()

    def turn_back(self) -> None:
        """Bring the recording back, and the keyboard to where it came from."""
        if not self.key:
            return
        self.setCurrentWidget(self._front)
        self.turned.emit("")
        came_from, self._came_from = self._came_from, None
        if came_from is not None and came_from.isVisible():
            came_from.setFocus()
        else:
            self._front.setFocus()

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self._look = (look, font)
        for page in self._pages.values():
            page.set_look(look, font)

    def _mark_stale(self) -> None:
        for page in self._pages.values():
            page.mark_stale()


def _make(key: str, bench: Bench) -> Page:
    if key == RUNS:
        from wayside_app.window.runs.runs_page import RunsPage

        return RunsPage(bench)
    if key == FILM:
        from wayside_app.window.film.film_page import FilmPage

        return FilmPage(bench)
    if key == WORKING:
        from wayside_app.window.steps.working_page import WorkingPage

        return WorkingPage(bench)
    if key == BUDGET:
        from wayside_app.window.budget.budget_page import BudgetPage

        return BudgetPage(bench)
    if key == CHOICES:
        from wayside_app.window.choices.choices_page import ChoicesPage

        return ChoicesPage(bench)
    if key == EXPLAIN:
        from wayside_app.window.explain.explain_page import ExplainPage

        return ExplainPage(bench)
    from wayside_app.window.plan.plan_page import PlanPage

    return PlanPage(bench)


def _neighbours(key: str) -> tuple[tuple[str, str], tuple[str, str]]:
    none = ("", "")
    if key in (PLAN, FILM, RUNS):
        return none, none
    names = list(titles().items())
    at = [k for k, _ in names].index(key)
    later = names[at + 1] if names[at + 1][0] != PLAN else none
    return (names[at - 1] if at else none), later


def _tr(text: str) -> str:
    return QCoreApplication.translate("Pages", text)
