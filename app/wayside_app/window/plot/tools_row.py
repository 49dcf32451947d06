"""The row above the spectrogram: what the lines mean, what the cursor reads, how to look."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from wayside_app.window.controls import Choice, text_label
from wayside_app.window.plot.pitch_scale import PitchScale
from wayside_app.window.plot.tone_scale import ToneScale
from wayside_app.window.plot.under_series import LEVEL, NOTHING, RESIDUALS, SLOWNESS, WAVE
from wayside_app.window.theme.looks import Look

MICROPHONE, RIDER = "microphone", "rider"


_LEAST_PX = 70


class ToolsRow(QWidget):
    """Legend, readout and the few ways to look.

    Signals
    -------
    scale_chosen(PitchScale), under_chosen(str), frame_chosen(str)
    """

    scale_chosen = Signal(object)
    under_chosen = Signal(str)
    frame_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.legend = QLabel(self)
        self.legend.setTextFormat(Qt.TextFormat.RichText)
        self.legend.setWordWrap(True)
        self.readout = text_label("readout", "")
        self.readout.setAccessibleName(self.tr("Reading at the cursor"))
        self.tone_scale = ToneScale(self)
        self.frame = Choice(self.tr("Heard by"), self)
        self.frame.addItem(self.tr("at the microphone"), MICROPHONE)
        self.frame.addItem(self.tr("on board, with the rider"), RIDER)
        self.scale_ = Choice(self.tr("Pitch axis"), self)
        self.scale_.addItem(self.tr("pitch in Hz"), PitchScale())
        self.scale_.addItem(self.tr("octaves"), PitchScale(octaves=True))
        self.scale_.addItem(self.tr("octaves, notes"), PitchScale(octaves=True, notes=True))
        self.under = Choice(self.tr("Plot under the spectrogram"), self)
        for key, name in (
            (NOTHING, self.tr("nothing below")),
            (LEVEL, self.tr("level below")),
            (WAVE, self.tr("waveform below")),
            (RESIDUALS, self.tr("residuals below")),
            (SLOWNESS, self.tr("slowness below")),
        ):
            self.under.addItem(name, key)
        choices = QHBoxLayout()
        choices.setContentsMargins(0, 0, 0, 0)
        for part in (self.frame, self.scale_, self.under):
            part.setProperty("part", "small")
            part.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
            # in longer words or larger letters they give way before the window has to scroll
            part.setMinimumWidth(_LEAST_PX)
            choices.addWidget(part)
        choices.addWidget(self.tone_scale)
        choices.addStretch(1)
        top = QHBoxLayout()
        top.setContentsMargins(0, 0, 0, 0)
        top.addWidget(self.legend, 1)
        top.addWidget(self.readout, 1)
        self.readout.hide()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(3)
        rows.addLayout(top)
        rows.addLayout(choices)
        self.frame.currentIndexChanged.connect(
            lambda _: self.frame_chosen.emit(self.frame.currentData())
        )
        self.scale_.currentIndexChanged.connect(
            lambda _: self.scale_chosen.emit(self.scale_.currentData())
        )
        self.under.currentIndexChanged.connect(
            lambda _: self.under_chosen.emit(self.under.currentData())
        )

    def read(self, text: str) -> None:
        """Show what the cursor reads, in the legend's place; nothing brings the legend back."""
        self.readout.setText(text)
        self.readout.setVisible(bool(text))
        self.legend.setVisible(not text)

    def set_look(self, look: Look, font: QFont) -> None:
        """Take colours and text size."""
        self.tone_scale.set_look(look)
        self.legend.setText(
            f"<span style='color:{look.sound}'><b>━━</b> {self.tr('by sound, fitted curve')} "
            f"&nbsp; ○ {self.tr('pitch track')}</span> &nbsp;&nbsp; "
            f"<span style='color:{look.hand}'><b>╍╍</b> {self.tr('by hand, predicted')}</span>"
        )
