"""The level axis of the spectrogram: which level is paper and which is full ink."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QLinearGradient, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wayside.sound.spectrogram import CEILING_DB, FLOOR_DB
from wayside_app.window import figures
from wayside_app.window.plot.ink import LEAST_SPAN
from wayside_app.window.theme.looks import LIGHT, Look

_STEP_DB = 3.0
_LEVEL_DB = (CEILING_DB - FLOOR_DB) / 255.0


class ToneScale(QWidget):
    """A bar from the soft end to the loud end; drag it, or use the arrow keys.

    Left half and Left/Right keys move the soft end, right half and Up/Down keys the loud end.

    Signals
    -------
    changed(quiet, loud)
        Picture levels, 0 to 255.
    """

    changed = Signal(int, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(self.tr("Level range of the spectrogram"))
        self.setToolTip(
            self.tr(
                "Levels from paper to full ink. Drag either half sideways, or use the arrow keys."
            )
        )
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._look = LIGHT
        self.quiet, self.loud = 0, 255
        self._grip: tuple[str, float, int] | None = None
        self._describe()

    def sizeHint(self) -> QSize:
        metrics = self.fontMetrics()
        return QSize(metrics.horizontalAdvance("−120 −100 dB") + 80, metrics.height() + 4)

    def set_look(self, look: Look) -> None:
        """Take the colours."""
        self._look = look
        self.updateGeometry()
        self.update()

    def show_range(self, quiet: int, loud: int) -> None:
        """Show a range without telling anybody."""
        self.quiet, self.loud = quiet, loud
        self._describe()
        self.update()

    def _set(self, quiet: float, loud: float) -> None:
        quiet = min(max(round(quiet), 0), 255 - LEAST_SPAN)
        loud = min(max(round(loud), quiet + LEAST_SPAN), 255)
        self.show_range(quiet, loud)
        self.changed.emit(quiet, loud)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = _STEP_DB / _LEVEL_DB
        moves = {
            Qt.Key.Key_Left: (-step, 0.0),
            Qt.Key.Key_Right: (step, 0.0),
            Qt.Key.Key_Down: (0.0, -step),
            Qt.Key.Key_Up: (0.0, step),
        }
        move = moves.get(Qt.Key(event.key()))
        if move is None:
            super().keyPressEvent(event)
            return
        self._set(self.quiet + move[0], self.loud + move[1])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        x = event.position().x()
        soft = x < self.width() / 2
        self._grip = ("quiet", x, self.quiet) if soft else ("loud", x, self.loud)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._grip is None:
            return
        which, start, level = self._grip
        moved = level + event.position().x() - start
        if which == "quiet":
            self._set(moved, self.loud)
        else:
            self._set(self.quiet, moved)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        self._grip = None

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        look, area = self._look, QRectF(self.rect()).adjusted(1, 1, -1, -1)
        texts = [figures.plain(_db(level), 0) for level in (self.quiet, self.loud)]
        texts[1] += " dB"
        metrics = self.fontMetrics()
        widths = [metrics.horizontalAdvance(text) + 6 for text in texts]
        painter.setPen(QColor(look.text))
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(area, middle | Qt.AlignmentFlag.AlignLeft, texts[0])
        painter.drawText(area, middle | Qt.AlignmentFlag.AlignRight, texts[1])
        bar = area.adjusted(widths[0], 3, -widths[1], -3)
        shades = QLinearGradient(bar.topLeft(), QPointF(bar.right(), bar.top()))
        shades.setColorAt(0.0, QColor(look.paper))
        shades.setColorAt(1.0, QColor(look.ink))
        painter.fillRect(bar, shades)
        painter.setPen(QColor(look.focus if self.hasFocus() else look.rule))
        painter.drawRect(bar)
        painter.end()

    def _describe(self) -> None:
        self.setAccessibleDescription(
            self.tr("From {soft} to {loud} decibels.").format(
                soft=figures.plain(_db(self.quiet), 0), loud=figures.plain(_db(self.loud), 0)
            )
        )


def _db(level: int) -> float:
    return FLOOR_DB + _LEVEL_DB * level
