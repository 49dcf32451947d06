"""What every sheet has: number, title, a way back, ways to its neighbours, and its content."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from wayside_app.window.controls import text_label
from wayside_app.window.theme.looks import LIGHT, Look


class _Content(QWidget):
    """As tall as its wrapped texts need at the width it has, not at the width they would like."""

    def event(self, event: QEvent) -> bool:
        done = super().event(event)
        if event.type() in (QEvent.Type.LayoutRequest, QEvent.Type.Resize):
            layout = self.layout()
            if layout is not None:
                height = layout.totalHeightForWidth(self.width())
                if height >= 0 and height != self.minimumHeight():
                    self.setMinimumHeight(height)
        return done


class Page(QFrame):
    """One sheet.

    A hidden sheet does no work: what changed meanwhile is worked out when it is shown.

    Parameters
    ----------
    title : str
        What the sheet is about, also its accessible name.
    number : str
        Number of the area it belongs to; empty if to none.
    badge : str
        Part of the style sheet for the number: ``"number-hand"`` or ``"number-both"``.

    Signals
    -------
    back_wanted()
    turn_wanted(key)
        Another sheet is wanted.
    """

    back_wanted = Signal()
    turn_wanted = Signal(str)

    needs_room = False
    """True for a sheet that takes the form's room too."""

    def __init__(self, title: str, number: str, badge: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "card")
        self.setAccessibleName(title)
        self.look: Look = LIGHT
        self.points = 11.0
        self._stale = True
        self.title = text_label("title", title, wrap=True)
        self.earlier = QPushButton(self)
        self.later = QPushButton(self)
        self.back = QPushButton(self.tr("Back"), self)
        self.back.setAccessibleName(self.tr("Back to the recording"))
        self.back.clicked.connect(self.back_wanted)
        head = QHBoxLayout()
        head.setSpacing(8)
        if number:
            head.addWidget(text_label(badge, number), 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self.title, 1)
        for button in (self.earlier, self.later):
            button.setProperty("part", "fold")
            button.hide()
            head.addWidget(button)
        head.addWidget(self.back)
        self.content = _Content(self)
        self.content.setProperty("part", "plain")
        self.column = QVBoxLayout(self.content)
        self.column.setContentsMargins(0, 0, 8, 8)
        self.column.setSpacing(6)
        self.scroller = QScrollArea(self)
        self.scroller.setWidgetResizable(True)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.scroller.setAccessibleName(self.tr("Sheet: {title}").format(title=title))
        self.scroller.setWidget(self.content)
        self.whole = QVBoxLayout(self)
        self.whole.setContentsMargins(12, 8, 12, 8)
        self.whole.setSpacing(6)
        self.whole.addLayout(head)
        self.whole.addWidget(self.scroller, 1)

    # --- for the sheets -----------------------------------------------------------------

    def refresh(self) -> None:
        """Show what is known now; called only while the sheet is seen."""

    def restyle(self) -> None:
        """Take `look` and `points` where the style sheet does not reach."""

    def first_stop(self) -> QWidget:
        """Return what gets the keyboard when the sheet is turned to."""
        return self.scroller

    def heading(self, text: str) -> QLabel:
        """Add a heading to the content."""
        label = text_label("group", text, wrap=True)
        self.column.addWidget(label)
        return label

    def words(self, part: str = "", text: str = "") -> QLabel:
        """Add text that can be selected and copied to the content."""
        label = text_label(part, text, wrap=True)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.column.addWidget(label)
        return label

    def copy(self, text: str) -> None:
        """Put text on the clipboard."""
        QApplication.clipboard().setText(text)

    # --- for the stack ------------------------------------------------------------------

    def mark_stale(self) -> None:
        """Have the sheet worked out anew, at once if it is seen."""
        self._stale = True
        if self.isVisible():
            self._catch_up()

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self.look, self.points = look, font.pointSizeF()
        self.restyle()

    def set_neighbours(self, earlier: tuple[str, str], later: tuple[str, str]) -> None:
        """Name the sheets before and after, each as (key, title); empty if there is none."""
        for button, (key, title), words in (
            (self.earlier, earlier, self.tr("◂ {title}")),
            (self.later, later, self.tr("{title} ▸")),
        ):
            button.setVisible(bool(key))
            button.setText(words.format(title=title))
            button.clicked.connect(lambda checked=False, k=key: self.turn_wanted.emit(k))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._catch_up()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.back_wanted.emit()
        else:
            super().keyPressEvent(event)

    def _catch_up(self) -> None:
        if self._stale:
            self._stale = False
            self.refresh()
