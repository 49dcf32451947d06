"""Starting the window from the command line."""

from __future__ import annotations

import signal
import sys
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QSettings, QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from wayside_app.window.language.speaking import language_to_use, use_language
from wayside_app.window.main_window import MainWindow
from wayside_app.window.services import Services, real_services
from wayside_app.window.settings import Preferences

ORGANISATION = "wayside"
STOPPED = 130

_SIGNAL_LOOK_MS = 200


def window_icon() -> QIcon:
    """Return the program's icon."""
    with resources.as_file(resources.files("wayside_app.window") / "assets/wayside.svg") as path:
        return QIcon(str(path))


def run_window(
    recording: Path | None,
    setup: Path | None,
    services: Services | None = None,
    language: str = "",
) -> int:
    """Open the window, with files if given, and stay until it is closed.

    Parameters
    ----------
    recording, setup : Path, optional
        Files to open.
    services : Services, optional
    language : str
        Language asked for, ``"en"`` or ``"de"``; empty for the one chosen before, or the system's.

    Returns
    -------
    int
        Exit code.
    """
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("wayside")
    app.setOrganizationName(ORGANISATION)
    app.setDesktopFileName("wayside")
    app.setWindowIcon(window_icon())
    settings = QSettings(
        QSettings.Format.IniFormat, QSettings.Scope.UserScope, ORGANISATION, "wayside"
    )
    use_language(app, language_to_use(language, Preferences(settings).language))
    window = MainWindow(services or real_services(), settings)
    window.resize(1280, 800)
    window.show()
    window.offer_recovery()
    if setup is not None:
        window.bench.open_setup(setup)
    if recording is not None:
        window.open_path(recording)
    _end_on_signals(app, window)
    return app.exec()


def _end_on_signals(app: QApplication, window: MainWindow) -> None:
    """End without a question when the system asks; unsaved work is kept for the next start."""
    asked: list[int] = []
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda signum, frame: asked.append(signum))

    def look() -> None:
        if asked:
            timer.stop()
            window.keeper.keep_now()
            window.bench.close()
            app.exit(STOPPED if asked[0] == signal.SIGINT else 0)

    # Python acts on a signal only between its own steps, so there has to be one now and then
    timer = QTimer(app)
    timer.timeout.connect(look)
    timer.start(_SIGNAL_LOOK_MS)
