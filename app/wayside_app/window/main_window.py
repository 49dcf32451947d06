"""The window: three numbered areas, a menu, and a place to drop files on."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_cache_dir
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import (
    QAction,
    QCloseEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QKeySequence,
)
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QMainWindow,
    QScrollArea,
    QSplitter,
    QWidget,
)

from wayside_app.window.bench import Bench
from wayside_app.window.form.hand_area import HandArea
from wayside_app.window.plot.sound_area import SoundArea
from wayside_app.window.services import Services
from wayside_app.window.settings import Preferences
from wayside_app.window.theme.apply import apply_look
from wayside_app.window.theme.looks import LOOKS
from wayside_app.window.verdict.verdict_area import VerdictArea

TEXT_SCALES = (1.0, 1.25, 1.5, 1.75, 2.0)


class MainWindow(QMainWindow):
    """One window on one bench."""

    def __init__(
        self, services: Services, settings: QSettings, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Wayside"))
        self.setAcceptDrops(True)
        self.preferences = Preferences(settings)
        self.bench = Bench(services, self)
        self.hand = HandArea(self.bench, self)
        self.sound = SoundArea(self.bench, self)
        self.verdict = VerdictArea(self.bench, self)
        self.right = QSplitter(Qt.Orientation.Vertical, self)
        self.right.addWidget(self.sound)
        self.right.addWidget(self.verdict)
        self.right.setStretchFactor(0, 1)
        self.right.setSizes([505, 245])
        self.across = QSplitter(Qt.Orientation.Horizontal, self)
        self.across.addWidget(self.hand)
        self.across.addWidget(self.right)
        self.across.setStretchFactor(1, 1)
        self.across.setSizes([350, 930])
        for splitter in (self.right, self.across):
            splitter.setChildrenCollapsible(False)
            splitter.setHandleWidth(8)
        # with large text the areas may need more room than the screen has
        self.page = QScrollArea(self)
        self.page.setWidgetResizable(True)
        self.page.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.page.setWidget(self.across)
        self.setCentralWidget(self.page)
        self.across.setContentsMargins(8, 4, 8, 8)
        self._make_menus()
        self.sound.open_wanted.connect(self.ask_recording)
        self.sound.sample_wanted.connect(self.open_sample)
        self.use_look(self.preferences.look, self.preferences.text_scale)

    # --- menus --------------------------------------------------------------------------

    def _make_menus(self) -> None:
        file = self.menuBar().addMenu(self.tr("&File"))
        self._add(file, self.tr("&Open recording or film …"), "Ctrl+O", self.ask_recording)
        self._add(file, self.tr("Open &set-up …"), "Ctrl+Shift+O", self.ask_setup)
        self._add(file, self.tr("Save set-&up as …"), "Ctrl+Shift+S", self.ask_save_setup)
        file.addSeparator()
        self._add(file, self.tr("Open the sa&mple"), "", self.open_sample)
        file.addSeparator()
        self._add(file, self.tr("&Quit"), "Ctrl+Q", self.close)
        edit = self.menuBar().addMenu(self.tr("&Edit"))
        stack = self.bench.undo_stack
        undo = stack.createUndoAction(self, self.tr("Undo"))
        undo.setShortcut(QKeySequence.StandardKey.Undo)
        redo = stack.createRedoAction(self, self.tr("Redo"))
        redo.setShortcut(QKeySequence.StandardKey.Redo)
        edit.addActions([undo, redo])
        view = self.menuBar().addMenu(self.tr("&View"))
        self._add(view, self.tr("The &pass-by"), "Ctrl+P", self.sound.show_pass)
        self._add(view, self.tr("&Whole recording"), "Ctrl+W", self.sound.show_whole)
        view.addSeparator()
        looks = view.addMenu(self.tr("&Colours"))
        names = {
            "light": self.tr("&Light"),
            "dark": self.tr("&Dark"),
            "high contrast": self.tr("&High contrast"),
        }
        for key, name in names.items():
            self._add(looks, name, "", lambda checked=False, k=key: self.use_look(k))
        sizes = view.addMenu(self.tr("&Text size"))
        for scale in TEXT_SCALES:
            text = self.tr("{percent} %").format(percent=round(100 * scale))
            self._add(sizes, text, "", lambda checked=False, s=scale: self.use_look(None, s))

    def _add(self, menu: QWidget, text: str, keys: str, call: object) -> QAction:
        action = QAction(text, self)
        if keys:
            action.setShortcut(QKeySequence(keys))
        action.triggered.connect(call)
        menu.addAction(action)
        return action

    # --- opening and saving -------------------------------------------------------------

    def ask_recording(self) -> None:
        """Let the user choose a recording or film."""
        path, _ = QFileDialog.getOpenFileName(
            self,
            self.tr("Open recording or film"),
            self.preferences.folder,
            self.tr("Recordings and films ({patterns});;All files (*)").format(
                patterns="*.mp4 *.mov *.m4v *.mkv *.avi *.wav *.flac *.mp3 *.m4a *.aac *.ogg *.opus"
            ),
        )
        if path:
            self.open_path(Path(path))

    def ask_setup(self) -> None:
        """Let the user choose a set-up file."""
        path, _ = QFileDialog.getOpenFileName(
            self,
            self.tr("Open set-up"),
            self.preferences.folder,
            self.tr("Set-ups ({patterns});;All files (*)").format(patterns="*.json"),
        )
        if path:
            self.preferences.folder = str(Path(path).parent)
            self.bench.open_setup(Path(path))

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

    def open_path(self, path: Path) -> None:
        """Open a set-up or a recording, and remember its folder."""
        self.preferences.folder = str(path.parent)
        self.bench.open_any(path)

    def open_sample(self) -> None:
        """Make the sample and open it."""
        self.bench.open_sample(Path(user_cache_dir("wayside")) / "sample")

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
        setups = [p for p in paths if p.suffix.lower() == ".json"]
        recordings = [p for p in paths if p.suffix.lower() != ".json"]
        for path in (*setups[:1], *recordings[:1]):
            self.open_path(path)

    # --- looks and end ------------------------------------------------------------------

    def use_look(self, name: str | None = None, text_scale: float | None = None) -> None:
        """Take a look and a text size and remember them."""
        if name in LOOKS:
            self.preferences.look = name
        if text_scale is not None:
            self.preferences.text_scale = text_scale
        look, scale = LOOKS[self.preferences.look], self.preferences.text_scale
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        apply_look(app, look, scale)
        font = app.font()
        self.hand.set_look(font)
        self.sound.set_look(look, font)
        self.verdict.set_look(look)

    def closeEvent(self, event: QCloseEvent) -> None:
        self.bench.close()
        super().closeEvent(event)


def dropped_paths(event: QDropEvent) -> list[Path]:
    """Return the local files that are being dropped."""
    urls = event.mimeData().urls() if event.mimeData().hasUrls() else []
    return [Path(url.toLocalFile()) for url in urls if url.isLocalFile()]
