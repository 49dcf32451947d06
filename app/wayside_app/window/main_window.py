"""The window: three numbered areas, a menu, and a place to drop files on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from platformdirs import user_cache_dir, user_state_dir
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QKeySequence,
    QShortcut,
)
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QMainWindow,
    QMessageBox,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wayside.session.document import SUFFIX, is_session_file
from wayside.session.session import MediaRef
from wayside_app.window.banner import Banner
from wayside_app.window.bench import Bench
from wayside_app.window.document.autosave import Orphan
from wayside_app.window.document.keeper import Keeper
from wayside_app.window.form.hand_area import HandArea
from wayside_app.window.help.help_window import HAND, SOUND, VERDICT, HelpWindow
from wayside_app.window.hint_line import FirstHints
from wayside_app.window.keys_list import KeysList, film_hints, plot_hints, runs_hints
from wayside_app.window.language.dictionary import LANGUAGES, current
from wayside_app.window.listen.player import Player, best_player
from wayside_app.window.menus import Menus
from wayside_app.window.pages.pages import BUDGET, EXPLAIN, FILM, RUNS, WORKING, Pages
from wayside_app.window.plain_text import plain_action
from wayside_app.window.plot.sound_area import SoundArea
from wayside_app.window.projector.projector_view import ProjectorView
from wayside_app.window.report.reporter import Reporter
from wayside_app.window.report.writing_bar import WritingBar
from wayside_app.window.runs.in_window import RunsInWindow
from wayside_app.window.runs.review_view import ReviewView
from wayside_app.window.runs.run_line import RunLine
from wayside_app.window.services import Services
from wayside_app.window.settings import Preferences
from wayside_app.window.theme.apply import apply_look
from wayside_app.window.theme.looks import LOOKS
from wayside_app.window.twins.twin_table import TwinTable
from wayside_app.window.twins.twins_of_plots import spectrogram_twin, under_twin
from wayside_app.window.verdict.verdict_area import VerdictArea

RECORDINGS = "*.mp4 *.mov *.m4v *.mkv *.avi *.wav *.flac *.mp3 *.m4a *.aac *.ogg *.opus"


class MainWindow(QMainWindow):
    """One window on one bench.

    Parameters
    ----------
    services : Services
        The core's calls.
    settings : QSettings
        What is remembered between runs.
    autosaves : Path, optional
        Folder of the private copies of unsaved work.
    make_player : callable, optional
        Makes what plays sound; the best this machine has by default.
    """

    def __init__(
        self,
        services: Services,
        settings: QSettings,
        autosaves: Path | None = None,
        make_player: Callable[[], Player] = best_player,
    ) -> None:
        super().__init__()
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setAcceptDrops(True)
        self.preferences = Preferences(settings)
        self._was_full = False
        self._sample_folder = Path(user_cache_dir("wayside")) / "sample"
        self._apply_look()
        self.bench = Bench(services, self)
        folder = autosaves or Path(user_state_dir("wayside")) / "unsaved"
        self.keeper = Keeper(self.bench, folder, self)
        self.hand = HandArea(self.bench, self)
        self.sound = SoundArea(self.bench, make_player, self)
        self.verdict = VerdictArea(self.bench, self)
        self.banner = Banner(self)
        self.writing = WritingBar(self)
        self.reporter = Reporter(self.bench, self.keeper, self.preferences, self.writing, self)
        self.runs = RunsInWindow(self)
        self._lay_out()
        self.menus = Menus(self)
        self.sound.open_wanted.connect(self.ask_open)
        self.sound.sample_wanted.connect(self.open_sample)
        self.hand.expectation.working_wanted.connect(partial(self.pages.turn_to, WORKING))
        self.hand.expectation.budget_wanted.connect(partial(self.pages.turn_to, BUDGET))
        self.verdict.explain_wanted.connect(partial(self.pages.turn_to, EXPLAIN))
        self.hand.film_wanted.connect(self.go_to_film)
        self.run_line.all_wanted.connect(self.runs.show_all)
        self.pages.turned.connect(self._make_room)
        self.bench.media_missing.connect(self._media_missing)
        self.keeper.fault.connect(self.banner.say)
        self.keeper.taken.connect(self._offer_copy)
        self.keeper.changed.connect(self._show_title)
        self.keeper.opened.connect(self._remember)
        lines = (self.hand.hint, self.sound.hint, self.verdict.hint)
        self._hints = FirstHints(self.bench, lines, self.preferences, self._sample_folder, self)
        self._show_title()
        self._show_recent()
        self.use_look()
        self.sound.invitation.open_button.setFocus()
        QShortcut(QKeySequence(Qt.Key.Key_Escape), self.projector, self.leave_projector)

    def _lay_out(self) -> None:
        # from the outside in: whatever gets another parent has all inside it styled anew
        self.stack = QStackedWidget(self)
        self.setCentralWidget(self.stack)
        # with large text the areas may need more room than the screen has
        self.page = QScrollArea(self.stack)
        self.page.setWidgetResizable(True)
        self.page.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.stack.addWidget(self.page)
        content = QWidget(self.page)
        self.page.setWidget(content)
        column = QVBoxLayout(content)
        column.setContentsMargins(8, 4, 8, 8)
        self.right = QSplitter(Qt.Orientation.Vertical, content)
        self.across = QSplitter(Qt.Orientation.Horizontal, content)
        self.pages = Pages(self.bench, self.right, self.across)
        self.run_line = RunLine(self.bench, content)
        column.addWidget(self.banner)
        column.addWidget(self.writing)
        column.addWidget(self.run_line)
        column.addWidget(self.across, 1)
        self.across.addWidget(self.hand)
        self.across.addWidget(self.pages)
        self.across.setStretchFactor(1, 1)
        self.across.setSizes([350, 930])
        self.right.addWidget(self.sound)
        self.right.addWidget(self.verdict)
        self.right.setStretchFactor(0, 1)
        self.right.setSizes([505, 245])
        for splitter in (self.right, self.across):
            splitter.setChildrenCollapsible(False)
            splitter.setHandleWidth(8)
        self.projector = ProjectorView(self.bench, self.stack)
        self.stack.addWidget(self.projector)
        self.review = ReviewView(self.bench, self.stack)
        self.review.left.connect(self.runs.leave_review)
        self.stack.addWidget(self.review)

    def _make_room(self) -> None:
        """Fold the form away while a sheet needs its room."""
        self.hand.setVisible(not self.pages.needs_room)

    # --- the document -------------------------------------------------------------------

    def new_session(self) -> None:
        """Start an empty session."""
        if self.may_go():
            self.keeper.new()

    def ask_open(self) -> None:
        """Let the user choose a recording, film, set-up or session."""
        path, _ = QFileDialog.getOpenFileName(
            self,
            self.tr("Open"),
            self.preferences.folder,
            ";;".join(
                (
                    self.tr("Everything Wayside opens ({patterns})").format(
                        patterns=f"{RECORDINGS} *.json"
                    ),
                    self.tr("All files (*)"),
                )
            ),
        )
        if path:
            self.open_path(Path(path))

    def open_path(self, path: Path) -> None:
        """Open a session, a set-up or a recording, told apart by what is in it."""
        self.preferences.folder = str(path.parent)
        if path.suffix.lower() != ".json":
            self.bench.open_recording(path)
        elif not is_session_file(path):
            self.bench.open_setup(path)
        elif self.may_go():
            self.keeper.open(path)

    def open_sample(self) -> None:
        """Make the sample and open it."""
        self.bench.open_sample(self._sample_folder)

    def save_session(self) -> bool:
        """Save the session; asks where if it has no file yet."""
        if self.keeper.path is None:
            return self.ask_save_session()
        return self.keeper.save()

    def ask_save_session(self) -> bool:
        """Let the user choose where to save the session."""
        media = self.bench.session.media
        stem = self.tr("session") if media is None else Path(media.path).stem
        path, _ = QFileDialog.getSaveFileName(
            self,
            self.tr("Save session"),
            str(Path(self.preferences.folder) / f"{stem}{SUFFIX}"),
            self.tr("Sessions ({patterns})").format(patterns=f"*{SUFFIX}"),
        )
        return bool(path) and self.keeper.save(Path(path))

    def ask_save_setup(self) -> None:
        """Let the user choose where to save the set-up."""
        path, _ = QFileDialog.getSaveFileName(
            self,
            self.tr("Save set-up"),
            str(Path(self.preferences.folder) / "setup.json"),
            self.tr("Set-ups ({patterns})").format(patterns="*.json"),
        )
        if path:
            self.bench.save_setup(Path(path))

    def may_go(self) -> bool:
        """Ask about unsaved work; False when the user wants to stay."""
        if not self.keeper.unsaved:
            return True
        box = QMessageBox(self)
        box.setIcon(QMessageBox.Icon.Question)
        box.setText(self.tr("This session has changes that are not saved."))
        box.setInformativeText(self.tr("Save them first?"))
        buttons = QMessageBox.StandardButton
        box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
        box.setDefaultButton(buttons.Save)
        answer = box.exec()
        box.deleteLater()
        if answer == buttons.Save:
            return self.save_session()
        return answer == buttons.Discard

    def offer_recovery(self) -> None:
        """Offer the newest unsaved work of a window that crashed."""
        orphans = self.keeper.orphans()
        if not orphans:
            return
        orphan = orphans[0]
        name = orphan.name or self.tr("a session without a name")
        self.banner.say(
            self.tr("Wayside did not end properly. {name} was kept at {time}.").format(
                name=name, time=orphan.when.strftime("%H:%M, %d.%m.%Y")
            ),
            self.tr("Bring it back"),
            lambda: self._recover(orphan),
            dismissed=lambda: self.keeper.discard(orphan),
        )

    def _offer_copy(self, path: Path, sentence: str) -> None:
        def open_copy() -> None:
            self.keeper.open_copy(path)

        self.banner.say(sentence, self.tr("Open a copy"), open_copy)

    def _recover(self, orphan: Orphan) -> None:
        if self.may_go():
            self.keeper.recover(orphan)

    def _media_missing(self, media: MediaRef, sentence: str) -> None:
        self.sound.banner.say(sentence, self.tr("Find it …"), self._find_media)

    def _find_media(self) -> None:
        path, _ = QFileDialog.getOpenFileName(
            self, self.tr("Find the recording"), self.preferences.folder, self.tr("All files (*)")
        )
        if path:
            self.bench.open_recording(Path(path), keep_windows=True)

    def _show_title(self) -> None:
        path = self.keeper.path
        name = self.tr("New session") if path is None else path.name.removesuffix(SUFFIX)
        self.setWindowTitle(f"{name}[*] – Wayside")
        self.setWindowModified(self.keeper.unsaved)

    def _remember(self, path: Path) -> None:
        self.preferences.remember(path)
        self._show_recent()

    def _show_recent(self) -> None:
        menu = self.menus.recent
        menu.clear()
        for path in self.preferences.recent:
            menu.addAction(plain_action(str(path)), partial(self.open_path, path))
        menu.setEnabled(bool(self.preferences.recent))

    # --- dropping -----------------------------------------------------------------------

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if dropped_paths(event):
            event.acceptProposedAction()
            self.sound.invitation.set_hot(True)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        self.sound.invitation.set_hot(False)

    def dropEvent(self, event: QDropEvent) -> None:
        self.sound.invitation.set_hot(False)
        paths = dropped_paths(event)
        if paths:
            event.acceptProposedAction()
        self.open_dropped(paths)

    def open_dropped(self, paths: Sequence[Path]) -> None:
        """Open files: one recording into the run that is shown, several as a run each.

        A session among them is opened instead of all others.
        """
        recordings = [p for p in paths if p.suffix.lower() != ".json"]
        if len(recordings) < 2:
            documents = [p for p in paths if p.suffix.lower() == ".json"]
            for path in (*documents[:1], *recordings[:1]):
                self.open_path(path)
            return
        self.runs.take(paths)

    # --- moving about -------------------------------------------------------------------

    def go_to_hand(self) -> None:
        """Put the keyboard into the form."""
        if self.pages.needs_room:
            self.pages.turn_back()
        next(iter(self.hand.rows().values())).value.setFocus()

    def go_to_sound(self) -> None:
        """Put the keyboard onto the plot, or onto the invitation."""
        self.pages.turn_back()
        heard = self.bench.heard is not None
        (self.sound.plot if heard else self.sound.invitation.open_button).setFocus()

    def go_to_verdict(self) -> None:
        """Put the keyboard onto the table."""
        self.pages.turn_back()
        self.verdict.table.setFocus()

    def go_to_film(self) -> None:
        """Bring the film to the front."""
        self.pages.turn_to(FILM)

    def show_keys(self) -> None:
        """Show the list of keys."""
        KeysList([*self.menus.hints, *plot_hints(), *film_hints(), *runs_hints()], self).show()

    def show_help(self) -> None:
        """Show the help page about the area that has the keyboard."""
        focused = self.focusWidget()
        page = SOUND
        for area, name in ((self.hand, HAND), (self.verdict, VERDICT)):
            if focused is not None and area.isAncestorOf(focused):
                page = name
        if self.stack.currentWidget() is self.review:
            page = RUNS
        elif self.pages.key and page != HAND:
            page = self.pages.key
        HelpWindow(page, self).show()

    def show_numbers(self) -> None:
        """Show the numbers behind the plot that has the keyboard, else the spectrogram's."""
        under = self.sound.under
        twin = under_twin(under.series) if under.hasFocus() else None
        if self.stack.currentWidget() is self.review:
            twin = self.review.twin()
        twin = twin or spectrogram_twin(self.bench.measurement, self.bench.prediction)
        if twin is None:
            self.banner.say(self.tr("There are no numbers yet; open a recording first."))
            return
        TwinTable(twin, Path(self.preferences.folder), self).show()

    def toggle_projector(self) -> None:
        """Go to the projector view, or back."""
        if self.stack.currentWidget() is self.projector:
            self.leave_projector()
            return
        self.runs.leave_review()
        self._was_full = self.isFullScreen()
        self.projector.borrow(self.sound.plot)
        self.stack.setCurrentWidget(self.projector)
        self.menuBar().hide()
        self.showFullScreen()
        self.sound.plot.setFocus()

    def leave_projector(self) -> None:
        """Go back from the projector view."""
        if self.stack.currentWidget() is not self.projector:
            return
        self.projector.give_back()
        self.sound.take_plot_back()
        self.stack.setCurrentWidget(self.page)
        self.menuBar().show()
        if not self._was_full:
            self.showNormal()
        self.use_look()

    # --- looks and end ------------------------------------------------------------------

    def use_look(self, name: str | None = None, text_scale: float | None = None) -> None:
        """Take a look and a text size and remember them."""
        if name in LOOKS:
            self.preferences.look = name
        if text_scale is not None:
            self.preferences.text_scale = text_scale
        self._apply_look()
        look, font = LOOKS[self.preferences.look], QApplication.font()
        self.hand.set_look(font)
        self.sound.set_look(look, font)
        self.verdict.set_look(look, font)
        self.projector.set_look(look)
        self.review.set_look(look)
        self.pages.set_look(look, font)

    def choose_language(self, language: str) -> None:
        """Remember a language; what is already on the screen stays, so it is for the next start."""
        self.preferences.language = language
        if language != current().language:
            self.banner.say(
                self.tr("From the next start, Wayside speaks {language}.").format(
                    language=LANGUAGES[language]
                )
            )
        else:
            self.banner.say("")

    def _apply_look(self) -> None:
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        apply_look(app, LOOKS[self.preferences.look], self.preferences.text_scale)

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.may_go():
            event.ignore()
            return
        self.keeper.close()
        self.bench.close()
        super().closeEvent(event)


def dropped_paths(event: QDropEvent) -> list[Path]:
    """Return the local files that are being dropped."""
    urls = event.mimeData().urls() if event.mimeData().hasUrls() else []
    return [Path(url.toLocalFile()) for url in urls if url.isLocalFile()]
