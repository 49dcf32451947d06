"""Which language the program speaks, and the switch that has Qt speak it too."""

from __future__ import annotations

import os

from PySide6.QtCore import QCoreApplication, QLibraryInfo, QLocale, QObject, QTranslator

from wayside_app.window.language.dictionary import (
    ENGLISH,
    LANGUAGES,
    Dictionary,
    dictionary_of,
    put,
)

VARIABLE = "WAYSIDE_LANGUAGE"


class WordsTranslator(QTranslator):
    """Gives Qt's ``tr`` the dictionary's words, whatever the context."""

    def __init__(self, dictionary: Dictionary, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._dictionary = dictionary

    def isEmpty(self) -> bool:
        return False

    def translate(
        self,
        context: str,
        source: str,
        disambiguation: str | None = None,
        n: int = -1,
    ) -> str:
        # only no text at all makes Qt look further; an empty one would be shown
        found = self._dictionary.exact(f"{source}|{disambiguation}") if disambiguation else None
        return found or self._dictionary.exact(source)  # type: ignore[return-value]


def language_to_use(asked: str, kept: str) -> str:
    """Return the language to start with.

    Parameters
    ----------
    asked : str
        What the command line asks for, empty if nothing.
    kept : str
        What was chosen in the menu, empty if nothing.

    Returns
    -------
    str
        The first of `asked`, the variable ``WAYSIDE_LANGUAGE``, `kept` and the system's own
        language that the program speaks; else English.
    """
    system = QLocale.system().name()[:2]
    for wish in (asked, os.environ.get(VARIABLE, "").strip().lower()[:2], kept, system):
        if wish in LANGUAGES:
            return wish
    return ENGLISH


def use_language(app: QCoreApplication, language: str) -> None:
    """Have the program speak a language, with its decimal sign; before any window is made."""
    dictionary = dictionary_of(language)
    put(dictionary)
    QLocale.setDefault(QLocale(language) if language != ENGLISH else QLocale.c())
    for old in app.findChildren(QTranslator):
        app.removeTranslator(old)
        old.deleteLater()
    if language == ENGLISH:
        return
    # Qt asks the newest first: its own words only where the dictionary is silent
    own = QTranslator(app)
    folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    if own.load(f"qtbase_{language}", folder):
        app.installTranslator(own)
    app.installTranslator(WordsTranslator(dictionary, app))
