"""F1: the page about the area that has the keyboard, beside the window."""

from __future__ import annotations

from importlib import resources

from PySide6.QtCore import QLocale, Qt
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from wayside_app.window.pages.pages import titles

HAND, FILM, SOUND, VERDICT = "hand", "film", "sound", "verdict"
SHEETS = ("working", "budget", "choices", "explain", "plan", "runs")
PAGES = (HAND, FILM, SOUND, VERDICT, *SHEETS)
"""One page an area and one a sheet, the latter under the sheet's own key."""

_ACROSS = 5


class HelpWindow(QDialog):
    """Shows one page; its buttons turn to the others."""

    def __init__(self, page: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(self.tr("Help"))
        self.text = QTextBrowser(self)
        self.text.setAccessibleName(self.tr("Help"))
        self.text.setOpenLinks(False)
        self.buttons: dict[str, QPushButton] = {}
        names = {
            HAND: self.tr("1 By hand"),
            FILM: self.tr("The film"),
            SOUND: self.tr("2 By sound"),
            VERDICT: self.tr("3 The verdict"),
            **titles(),
            "runs": self.tr("The runs"),
        }
        grid = QGridLayout()
        for at, key in enumerate(PAGES):
            button = QPushButton(names[key], self)
            button.clicked.connect(lambda checked=False, k=key: self.turn_to(k))
            self.buttons[key] = button
            grid.addWidget(button, at // _ACROSS, at % _ACROSS)
        row = QHBoxLayout()
        row.addStretch(1)
        close = QPushButton(self.tr("Close"), self)
        close.clicked.connect(self.close)
        row.addWidget(close)
        column = QVBoxLayout(self)
        column.addLayout(grid)
        column.addWidget(self.text, 1)
        column.addLayout(row)
        self.resize(760, 640)
        self.turn_to(page)

    def turn_to(self, page: str) -> None:
        """Show another page."""
        self.text.setMarkdown(page_text(page))
        for key, button in self.buttons.items():
            button.setDefault(key == page)


def page_text(page: str) -> str:
    """Return a page as Markdown, in the window's language if there is one, else English."""
    folder = resources.files("wayside_app.window.help")
    language = QLocale().name()[:2]
    for name in (f"{page}.{language}.md", f"{page}.md"):
        entry = folder / name
        if entry.is_file():
            return entry.read_text(encoding="utf-8")
    return ""
