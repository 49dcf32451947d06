"""The menus, and the one list of keys that Help shows: both come from the same calls."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from wayside_app.window.language.dictionary import LANGUAGES, current
from wayside_app.window.pages.pages import BUDGET, CHOICES, EXPLAIN, PLAN, WORKING, titles
from wayside_app.window.theme.looks import LOOKS

if TYPE_CHECKING:
    from wayside_app.window.main_window import MainWindow

SHEET_KEYS = {WORKING: "F2", BUDGET: "F3", CHOICES: "F4", EXPLAIN: "F6", PLAN: "F7"}
TEXT_SCALES = (1.0, 1.25, 1.5, 1.75, 2.0)


@dataclass(frozen=True)
class KeyHint:
    """One line of the list of keys."""

    group: str
    keys: str
    what: str


class Menus:
    """Builds the menus of a window and keeps its actions."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window
        self.hints: list[KeyHint] = []
        self._group = ""
        self._menu = QMenu()
        self._file()
        self._edit()
        self._view()
        self._runs()
        self._listen()
        self._help()

    def _file(self) -> None:
        w = self._window
        self._start(_tr("&File"))
        self._add(_tr("&New session"), "Ctrl+N", w.new_session)
        self._add(_tr("&Open …"), "Ctrl+O", w.ask_open)
        self.recent = self._menu.addMenu(_tr("Open &recent"))
        self._add(_tr("Open the sa&mple"), "Ctrl+Shift+O", w.open_sample)
        self._menu.addSeparator()
        self._add(_tr("&Save session"), "Ctrl+S", w.save_session)
        self._add(_tr("Save session &as …"), "Ctrl+Shift+S", w.ask_save_session)
        self._add(_tr("Save set-&up as …"), "", w.ask_save_setup)
        self._menu.addSeparator()
        self._add(_tr("Re&port …"), "Ctrl+R", w.reporter.ask_report)
        self._add(_tr("&Worksheet …"), "Ctrl+Shift+R", partial(w.reporter.ask_report, True))
        self._add(_tr("Numbers and &figures …"), "Ctrl+E", w.reporter.ask_numbers)
        self._menu.addSeparator()
        self._add(_tr("&Quit"), "Ctrl+Q", w.close)

    def _edit(self) -> None:
        w = self._window
        self._start(_tr("&Edit"))
        stack = w.bench.undo_stack
        for action, text, keys in (
            (stack.createUndoAction(w, _tr("Undo")), _tr("Undo"), "Ctrl+Z"),
            (stack.createRedoAction(w, _tr("Redo")), _tr("Redo"), "Ctrl+Y"),
        ):
            action.setShortcut(QKeySequence(keys))
            self._menu.addAction(action)
            self.hints.append(KeyHint(self._group, keys, text))

    def _view(self) -> None:
        w = self._window
        self._start(_tr("&View"))
        self._add(_tr("The &pass-by"), "Ctrl+P", w.sound.show_pass)
        self._add(_tr("&Whole recording"), "Ctrl+W", w.sound.show_whole)
        self._menu.addSeparator()
        self._add(_tr("Go to &1, by hand"), "Alt+1", w.go_to_hand)
        self._add(_tr("Go to &2, by sound"), "Alt+2", w.go_to_sound)
        self._add(_tr("Go to &3, the verdict"), "Alt+3", w.go_to_verdict)
        self._menu.addSeparator()
        self._add(_tr("The &film"), "F8", w.go_to_film)
        for key, title in titles().items():
            self._add(title, SHEET_KEYS[key], partial(w.pages.turn_to, key))
        self._menu.addSeparator()
        names = {
            "light": _tr("&Light"),
            "dark": _tr("&Dark"),
            "high contrast": _tr("&High contrast"),
        }
        self._add(_tr("Pro&jector view"), "F5", w.toggle_projector)
        self._add(_tr("&Numbers behind the plot"), "Ctrl+T", w.show_numbers)
        self._menu.addSeparator()
        self._choices(
            _tr("&Colours"),
            [(names[key], partial(w.use_look, key)) for key in LOOKS],
            list(LOOKS).index(w.preferences.look),
        )
        self._choices(
            _tr("&Text size"),
            [
                (_tr("{percent} %").format(percent=round(100 * s)), partial(w.use_look, None, s))
                for s in TEXT_SCALES
            ],
            min(
                range(len(TEXT_SCALES)),
                key=lambda k: abs(TEXT_SCALES[k] - w.preferences.text_scale),
            ),
        )

        languages = list(LANGUAGES)
        self._choices(
            _tr("Lan&guage"),
            [(LANGUAGES[key], partial(w.choose_language, key)) for key in languages],
            languages.index(current().language),
        )

    def _runs(self) -> None:
        runs = self._window.runs
        self._start(_tr("&Runs"))
        self._add(_tr("&All runs"), "F9", runs.show_all)
        self._add(_tr("&Side by side"), "Shift+F5", runs.toggle_review)
        self._menu.addSeparator()
        self._add(_tr("&Next run"), "Ctrl+PgDown", partial(runs.step, 1))
        self._add(_tr("Run &before"), "Ctrl+PgUp", partial(runs.step, -1))
        self._menu.addSeparator()
        self._add(_tr("New &run, same set-up"), "Ctrl+Shift+N", runs.add)
        self._add(_tr("Add re&cordings …"), "", runs.ask_add)

    def _listen(self) -> None:
        sound = self._window.sound
        self._start(_tr("&Listen"))
        self._add(_tr("&Play or stop"), "Ctrl+Space", sound.play)
        self._add(_tr("Show or hide the listening &bar"), "Ctrl+L", sound.listen_button.toggle)

    def _help(self) -> None:
        self._start(_tr("&Help"))
        self._add(_tr("&Help on this area"), "F1", self._window.show_help)
        self._add(_tr("&Keys"), "Ctrl+F1", self._window.show_keys)

    def _start(self, title: str) -> None:
        self._menu = self._window.menuBar().addMenu(title)
        self._group = title.replace("&", "")

    def _add(self, text: str, keys: str, call: Callable[[], object]) -> QAction:
        action = QAction(text, self._window)
        if keys:
            action.setShortcut(QKeySequence(keys))
            self.hints.append(KeyHint(self._group, keys, text.replace("&", "")))
        action.triggered.connect(lambda checked=False: call())
        self._menu.addAction(action)
        # so that its key works while the menu bar is hidden
        self._window.addAction(action)
        return action

    def _choices(
        self, title: str, answers: list[tuple[str, Callable[[], object]]], chosen: int
    ) -> None:
        menu = self._menu.addMenu(title)
        group = QActionGroup(menu)
        for at, (text, call) in enumerate(answers):
            action = QAction(text, menu)
            action.setCheckable(True)
            action.setChecked(at == chosen)
            action.triggered.connect(lambda checked=False, c=call: c())
            group.addAction(action)
            menu.addAction(action)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Menus", text)
