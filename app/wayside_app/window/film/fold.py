"""A part of the side column that unfolds."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from wayside_app.window.controls import text_label


class Fold(QWidget):
    """A heading that shows or hides what belongs to it."""

    def __init__(self, title: str, unfolded: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title = title
        self.head = QPushButton(self)
        self.head.setProperty("part", "fold")
        self.head.setCheckable(True)
        self.head.setChecked(unfolded)
        self.head.setAccessibleName(title)
        self.body = QWidget(self)
        self.body.setProperty("part", "plain")
        self.column = QVBoxLayout(self.body)
        self.column.setContentsMargins(4, 0, 0, 6)
        self.column.setSpacing(5)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(2)
        whole.addWidget(self.head)
        whole.addWidget(self.body)
        self.head.toggled.connect(lambda _: self._show())
        self._show()

    def _show(self) -> None:
        unfolded = self.head.isChecked()
        self.head.setText(("▾ " if unfolded else "▸ ") + self._title)
        self.body.setVisible(unfolded)

    def words(self, text: str = "", part: str = "quiet") -> QLabel:
        """Add a paragraph."""
        label = text_label(part, text, wrap=True)
        self.column.addWidget(label)
        return label
