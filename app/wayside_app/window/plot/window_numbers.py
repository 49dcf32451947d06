"""The two reading windows as numbers to type, with the pitch read in each."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QLabel, QWidget

from wayside.measure.result import Measurement, ReadingWindow
from wayside.session.session import Span, Windows
from wayside_app.window import figures
from wayside_app.window.controls import Number, text_label

_LEAST_WIDTH_S = 0.01
_READING = "000.00 ± 0.00 Hz"


class WindowNumbers(QWidget):
    """Two rows of from, to, and what is read there.

    Signals
    -------
    changed(which, span)
        ``"approach"`` or ``"recede"`` was given new ends.
    """

    changed = Signal(str, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._measurement: Measurement | None = None
        self._shown: dict[str, Span] = {}
        names = {"approach": self.tr("approach window"), "recede": self.tr("recede window")}
        titles = {"approach": self.tr("Approach"), "recede": self.tr("Recede")}
        self.starts: dict[str, Number] = {}
        self.stops: dict[str, Number] = {}
        self.readings: dict[str, QLabel] = {}
        self._least = 0
        self._parts: dict[str, QGridLayout] = {}
        self._rows = grid = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(6)
        for which, name in names.items():
            title = text_label("sound-value", titles[which])
            start = Number(self.tr("{window} from, seconds").format(window=name), self)
            stop = Number(self.tr("{window} to, seconds").format(window=name), self)
            for box in (start, stop):
                box.setDecimals(2)
                box.setSingleStep(0.05)
                box.setAlignment(Qt.AlignmentFlag.AlignRight)
                box.setRange(-1e6, 1e6)
                box.editingFinished.connect(lambda w=which: self._typed(w))
                box.setEnabled(False)
            title.setBuddy(start)
            reading = text_label("sound-value", "")
            self.starts[which], self.stops[which], self.readings[which] = start, stop, reading
            part = QGridLayout()
            part.setHorizontalSpacing(4)
            part.addWidget(title, 0, 0)
            part.addWidget(start, 0, 1)
            part.addWidget(text_label("", self.tr("to")), 0, 2)
            part.addWidget(stop, 0, 3)
            part.addWidget(text_label("", self.tr("s")), 0, 4)
            part.addWidget(reading, 0, 5)
            part.setColumnStretch(5, 1)
            grid.addLayout(part, 1)
            self._parts[which] = part

    def set_look(self, font: QFont) -> None:
        """Take the text size."""
        metrics = QFontMetrics(font)
        width = round(1.1 * metrics.horizontalAdvance("888.88")) + 12
        for box in (*self.starts.values(), *self.stops.values()):
            box.setFixedWidth(width)
        # room for a reading, so that the row does not break anew when one comes
        reading = self.readings["approach"]
        reading.ensurePolished()
        self._least = QFontMetrics(reading.font()).horizontalAdvance(_READING)
        self._fold()

    def minimumSizeHint(self) -> QSize:
        return QSize(max(map(self._wide, self._parts)), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _wide(self, which: str) -> int:
        """Return the width a window's part needs, with room for a reading to come."""
        reading = self.readings[which].sizeHint().width()
        return self._parts[which].sizeHint().width() - reading + max(reading, self._least)

    def _fold(self) -> None:
        """Put the windows below each other where they do not fit side by side."""
        wanted = sum(map(self._wide, self._parts)) + 2 * self._rows.spacing()
        direction = QBoxLayout.Direction
        fits = wanted <= self.width()
        self._rows.setDirection(direction.LeftToRight if fits else direction.TopToBottom)

    def set_limits(self, start_s: float, stop_s: float) -> None:
        """Allow only times inside the recording."""
        for box in (*self.starts.values(), *self.stops.values()):
            box.setRange(start_s, stop_s)

    def show_windows(self, windows: Windows, measurement: Measurement | None) -> None:
        """Show the windows and what was read in them."""
        self._measurement = measurement
        two = measurement.two_window if measurement is not None else None
        for which, span in (("approach", windows.approach_s), ("recede", windows.recede_s)):
            self._show_span(which, span)
            window: ReadingWindow | None = getattr(two, which) if two is not None else None
            if window is not None and span == (window.start_s, window.stop_s):
                self.readings[which].setText(figures.full(window.pitch))
            elif span is not None:
                self.preview(which, span)
            else:
                self.readings[which].setText("")

    def preview(self, which: str, span: Span) -> None:
        """Show at once about what pitch lies in a window, from the pitch track."""
        self._show_span(which, span)
        track = self._measurement.track if self._measurement is not None else None
        text = ""
        if track is not None:
            inside = (track.times_s >= span[0]) & (track.times_s <= span[1])
            if inside.any():
                text = self.tr("about {pitch} Hz").format(
                    pitch=figures.plain(float(np.median(track.pitch_hz[inside])), 1)
                )
            else:
                text = self.tr("no pitch here")
        self.readings[which].setText(text)

    def _show_span(self, which: str, span: Span | None) -> None:
        start, stop = self.starts[which], self.stops[which]
        for box in (start, stop):
            box.setEnabled(span is not None)
            box.blockSignals(True)
        if span is not None:
            start.setValue(span[0])
            stop.setValue(span[1])
        for box in (start, stop):
            box.blockSignals(False)
        self._shown[which] = (start.value(), stop.value())

    def _typed(self, which: str) -> None:
        start, stop = self.starts[which].value(), self.stops[which].value()
        if (start, stop) == self._shown.get(which):
            return
        if stop < start:
            start, stop = stop, start
        if stop - start < _LEAST_WIDTH_S:
            stop = start + _LEAST_WIDTH_S
        self.changed.emit(which, (start, stop))
