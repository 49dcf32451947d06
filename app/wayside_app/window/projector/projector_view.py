"""Projector view: the verdict across the top, the picture, four numbers; nothing else."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.controls import restyle, text_label
from wayside_app.window.plot.spectrogram_plot import SpectrogramPlot
from wayside_app.window.theme.looks import LIGHT, Look
from wayside_app.window.verdict.findings import findings

# Letters a thirtieth of the height can be read from eight picture widths away (common
# practice, no source); capitals are about 0.73 of the font's size.
_CAPITALS = 0.73
_HEADLINE_SHARE = 1.0 / 30.0 / _CAPITALS * 1.15
_NUMBER_SHARE = 1.0 / 30.0 / _CAPITALS
_AXIS_SHARE = 0.026


class ProjectorView(QWidget):
    """Borrows the plot while it is seen."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._look: Look = LIGHT
        self._plot: SpectrogramPlot | None = None
        self.setAccessibleName(self.tr("Projector view"))
        self.setProperty("part", "stage")
        self.headline = text_label("stage-verdict", "", wrap=True)
        self.headline.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.nothing = text_label("stage-verdict", self.tr("No recording yet"))
        self.nothing.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.values: dict[tuple[str, str], QLabel] = {}
        self._names: list[QLabel] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(18, 10, 18, 12)
        self._column.setSpacing(8)
        self._column.addWidget(self.headline)
        self._stage = QVBoxLayout()
        self._stage.addWidget(self.nothing)
        self._column.addLayout(self._stage, 1)
        self._column.addLayout(self._numbers())
        for signal in (bench.predicted, bench.measured, bench.compared):
            signal.connect(self._show)
        self._show()

    def _numbers(self) -> QHBoxLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(30)
        grid.setVerticalSpacing(2)
        witnesses = {"hand": self.tr("by hand"), "sound": self.tr("by sound")}
        for column, (witness, name) in enumerate(witnesses.items(), start=1):
            head = text_label(f"stage-{witness}", name)
            self._names.append(head)
            grid.addWidget(head, 0, column, Qt.AlignmentFlag.AlignRight)
        for row, (key, name) in enumerate(
            (("speed_mps", self.tr("speed")), ("source_hz", self.tr("source pitch"))), start=1
        ):
            label = text_label("stage-name", name)
            self._names.append(label)
            grid.addWidget(label, row, 0)
            for column, (witness, by) in enumerate(witnesses.items(), start=1):
                value = text_label(f"stage-{witness}", "–")
                value.setAccessibleName(f"{name}, {by}")
                self.values[witness, key] = value
                grid.addWidget(value, row, column, Qt.AlignmentFlag.AlignRight)
        centred = QHBoxLayout()
        centred.addStretch(1)
        centred.addLayout(grid)
        centred.addStretch(1)
        return centred

    def borrow(self, plot: SpectrogramPlot) -> None:
        """Show the plot here."""
        self._plot = plot
        self._stage.addWidget(plot, 1)
        plot.set_stage(True)
        self._show()
        self._resize_text()

    def give_back(self) -> None:
        """Let go of the plot; whoever lent it takes it."""
        if self._plot is not None:
            self._stage.removeWidget(self._plot)
            self._plot.set_stage(False)
            self._plot = None

    def set_look(self, look: Look) -> None:
        """Take the colours."""
        self._look = look
        self._resize_text()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._resize_text()

    def _resize_text(self) -> None:
        height = max(self.height(), 480)
        for label, share in (
            (self.headline, _HEADLINE_SHARE),
            (self.nothing, _HEADLINE_SHARE),
            *((label, _NUMBER_SHARE) for label in (*self._names, *self.values.values())),
        ):
            font = QFont(label.font())
            font.setPixelSize(round(share * height))
            font.setBold(True)
            label.setFont(font)
        if self._plot is not None:
            font = QFont(self.font())
            font.setPointSizeF(max(9.0, 0.75 * _AXIS_SHARE * height))
            self._plot.set_look(self._look, font)

    def _show(self) -> None:
        bench = self._bench
        found = findings(bench.prediction, bench.measurement, bench.comparison)
        self.headline.setText(found.headline)
        restyle(self.headline, tone=found.tone)
        heard = bench.heard is not None
        self.nothing.setVisible(not heard)
        if self._plot is not None:
            self._plot.setVisible(heard)
        fit = bench.measurement.fit if bench.measurement is not None else None
        for witness, source in (("hand", bench.prediction), ("sound", fit)):
            for key in ("speed_mps", "source_hz"):
                text = "–" if source is None else figures.full(getattr(source, key))
                self.values[witness, key].setText(text)
