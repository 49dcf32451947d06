"""Small controls that every area uses: named for screen readers, deaf to a passing wheel."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen, QValidator, QWheelEvent
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QLabel, QSizePolicy, QWidget

from wayside_app.window.language import numbers

_LEAST_LETTERS = 6


class Choice(QComboBox):
    """A drop-down list that only changes when opened or by key, never by a passing wheel.

    Parameters
    ----------
    name : str
        What it asks for, for screen readers.
    parent : QWidget, optional
    yielding : bool
        True where it takes the width it is given rather than that of its longest answer.
    """

    def __init__(self, name: str, parent: QWidget | None = None, yielding: bool = False) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        if yielding:
            self.setSizeAdjustPolicy(
                QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
            )
            self.setMinimumContentsLength(_LEAST_LETTERS)

    def showPopup(self) -> None:
        view = self.view()
        view.setMinimumWidth(view.sizeHintForColumn(0) + 2 * view.verticalScrollBar().width())
        super().showPopup()

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self.isEnabled():
            return
        # the style sheet's border takes the style's own arrow away
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(self.palette().color(QPalette.ColorRole.Text), 1.8)
        painter.setPen(pen)
        x, y = self.width() - 13.0, self.height() / 2.0
        painter.drawPolyline([QPointF(x - 4, y - 2), QPointF(x, y + 2.5), QPointF(x + 4, y - 2)])
        painter.end()


class Number(QDoubleSpinBox):
    """A number to type, changed by key but never by a passing wheel."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setKeyboardTracking(False)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def validate(self, text: str, position: int) -> tuple[QValidator.State, str, int]:
        state, _, at = super().validate(self._own(text), position)
        return state, text, at

    def valueFromText(self, text: str) -> float:
        return super().valueFromText(self._own(text))

    def _own(self, text: str) -> str:
        """Return what was typed with the decimal sign of the language, whichever was typed."""
        kept = numbers.plain(text)
        return kept.replace(numbers.POINT, self.locale().decimalPoint())


def text_label(part: str, text: str = "", wrap: bool = False) -> QLabel:
    """Return a label styled as one part of the style sheet."""
    label = QLabel(text)
    label.setProperty("part", part)
    label.setTextFormat(Qt.TextFormat.PlainText)
    if wrap:
        label.setWordWrap(True)
        label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    return label


def restyle(widget: QWidget, **properties: object) -> None:
    """Set style properties and have the style sheet applied again where they changed."""
    changed = False
    for name, value in properties.items():
        if widget.property(name) != value:
            widget.setProperty(name, value)
            changed = True
    if changed:
        widget.style().unpolish(widget)
        widget.style().polish(widget)
