"""A fault that belongs to a whole area: one sentence, in place, until it is dismissed."""

from __future__ import annotations

from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from wayside_app.window.controls import text_label


class Banner(QFrame):
    """Hidden while there is nothing to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "banner")
        self.text = text_label("fault", "", wrap=True)
        self.dismiss = QPushButton(self.tr("Close"), self)
        self.dismiss.setAccessibleName(self.tr("Close this message"))
        self.dismiss.clicked.connect(lambda: self.say(""))
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 5, 6, 5)
        row.addWidget(self.text, 1)
        row.addWidget(self.dismiss)
        self.hide()

    def say(self, sentence: str) -> None:
        """Show a sentence; an empty one hides the banner."""
        self.text.setText(f"⚠ {sentence}" if sentence else "")
        self.text.setAccessibleName(sentence)
        self.setVisible(bool(sentence))

    @property
    def sentence(self) -> str:
        """What is said now, without the sign."""
        return self.text.text().removeprefix("⚠ ")
