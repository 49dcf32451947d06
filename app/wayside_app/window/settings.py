"""What is remembered between runs, over one settings object that is handed in."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSettings

from wayside_app.window.theme.looks import LOOKS

_LEAST_SCALE, _MOST_SCALE = 1.0, 2.0


class Preferences:
    """Typed access to the settings; a value that makes no sense reads as the default."""

    def __init__(self, settings: QSettings) -> None:
        self._settings = settings

    @property
    def look(self) -> str:
        """Name of the look."""
        name = str(self._settings.value("look", "light", type=str))
        return name if name in LOOKS else "light"

    @look.setter
    def look(self, name: str) -> None:
        self._settings.setValue("look", name)

    @property
    def text_scale(self) -> float:
        """Text size, 1 for 100 %."""
        scale = self._settings.value("text_scale", 1.0, type=float)
        return min(max(float(scale), _LEAST_SCALE), _MOST_SCALE)  # type: ignore[arg-type]

    @text_scale.setter
    def text_scale(self, scale: float) -> None:
        self._settings.setValue("text_scale", float(scale))

    @property
    def folder(self) -> str:
        """Folder last opened from."""
        folder = str(self._settings.value("folder", "", type=str))
        return folder if folder and Path(folder).is_dir() else str(Path.home())

    @folder.setter
    def folder(self, folder: str) -> None:
        self._settings.setValue("folder", folder)
