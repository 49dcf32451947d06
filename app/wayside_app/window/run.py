"""Starting the window from the command line."""

from __future__ import annotations

import sys
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from wayside_app.window.main_window import MainWindow
from wayside_app.window.services import Services, real_services

ORGANISATION = "wayside"


def window_icon() -> QIcon:
    """Return the program's icon."""
    with resources.as_file(resources.files("wayside_app.window") / "assets/wayside.svg") as path:
        return QIcon(str(path))


def run_window(recording: Path | None, setup: Path | None, services: Services | None = None) -> int:
    """Open the window, with files if given, and stay until it is closed."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("wayside")
    app.setOrganizationName(ORGANISATION)
    app.setDesktopFileName("wayside")
    app.setWindowIcon(window_icon())
    settings = QSettings(
        QSettings.Format.IniFormat, QSettings.Scope.UserScope, ORGANISATION, "wayside"
    )
    window = MainWindow(services or real_services(), settings)
    window.resize(1280, 800)
    window.show()
    window.offer_recovery()
    if setup is not None:
        window.bench.open_setup(setup)
    if recording is not None:
        window.open_path(recording)
    return app.exec()
