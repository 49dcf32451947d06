"""The application object that fonts need, also where there is no window."""

from __future__ import annotations

import os

from PySide6.QtGui import QGuiApplication


def application() -> QGuiApplication:
    """Return the running application, or one without a screen."""
    running = QGuiApplication.instance()
    if isinstance(running, QGuiApplication):
        return running
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    return QGuiApplication(["wayside"])
