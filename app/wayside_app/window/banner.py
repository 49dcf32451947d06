"""A fault that belongs to a whole area: one sentence, in place, until it is dismissed."""

from __future__ import annotations

from collections.abc import Callable

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
        self.dismiss.clicked.connect(self._dismiss)
        row = QHBoxLayout(self)
        row.setContentsMargins(10, 5, 6, 5)
        self.action = QPushButton(self)
        self.action.clicked.connect(self._act)
        self._call: Callable[[], None] | None = None
        self._dismissed: Callable[[], None] | None = None
        row.addWidget(self.text, 1)
        row.addWidget(self.action)
        row.addWidget(self.dismiss)
        self.hide()

    def say(
        self,
        sentence: str,
        action: str = "",
        call: Callable[[], None] | None = None,
        dismissed: Callable[[], None] | None = None,
    ) -> None:
        """Show a sentence, with a button that mends it if there is one; empty hides."""
        self._dismissed = dismissed
        self.action.setText(action)
        self.action.setVisible(bool(action))
        self._call = call
        self.text.setText(f"⚠ {sentence}" if sentence else "")
        self.text.setAccessibleName(sentence)
        self.setVisible(bool(sentence))

    def _dismiss(self) -> None:
        call = self._dismissed
        self.say("")
        if call is not None:
            call()

    def _act(self) -> None:
        call = self._call
        self.say("")
        if call is not None:
            call()

    @property
    def sentence(self) -> str:
        """What is said now, without the sign."""
        return self.text.text().removeprefix("⚠ ")
