"""What is remembered between runs, over one settings object that is handed in."""

from __future__ import annotations

import json
from pathlib import Path

from PySide6.QtCore import QSettings

from wayside_app.window.language.dictionary import LANGUAGES
from wayside_app.window.theme.looks import LOOKS

_LEAST_SCALE, _MOST_SCALE = 1.0, 2.0
_MOST_RECENT = 8


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
    def language(self) -> str:
        """Language chosen in the menu; empty until one was chosen."""
        language = str(self._settings.value("language", "", type=str))
        return language if language in LANGUAGES else ""

    @language.setter
    def language(self, language: str) -> None:
        self._settings.setValue("language", language)

    @property
    def folder(self) -> str:
        """Folder last opened from."""
        folder = str(self._settings.value("folder", "", type=str))
        return folder if folder and Path(folder).is_dir() else str(Path.home())

    @folder.setter
    def folder(self, folder: str) -> None:
        self._settings.setValue("folder", folder)

    @property
    def hints_seen(self) -> bool:
        """True once the first run's hints were taken away."""
        return bool(self._settings.value("hints_seen", False, type=bool))

    @hints_seen.setter
    def hints_seen(self, seen: bool) -> None:
        self._settings.setValue("hints_seen", seen)

    @property
    def recent(self) -> list[Path]:
        """Session files opened lately that still exist, newest first."""
        text = str(self._settings.value("recent", "[]", type=str))
        try:
            names = json.loads(text)
        except ValueError:
            return []
        if not isinstance(names, list):
            return []
        paths = [Path(name) for name in names if isinstance(name, str)]
        return [path for path in paths if path.is_file()]

    def remember(self, path: Path) -> None:
        """Put a session file at the top of the recent ones."""
        others = [p for p in self.recent if p != path]
        names = [str(p) for p in (path, *others)][:_MOST_RECENT]
        self._settings.setValue("recent", json.dumps(names))
