"""How the recording is looked at: whose ears, which pitch axis, what lies under it, the cursor."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
from PySide6.QtCore import QObject, QTimer

from wayside.jobs import Job
from wayside.listen.rider import RiderSound, rider_sound_of, straightened
from wayside.physics.bands import curve_times
from wayside.sound.envelope import Envelope
from wayside.sound.spectrogram import Picture, PictureRequest
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.plot.pitch_scale import note_name
from wayside_app.window.plot.spectrogram_plot import SpectrogramPlot
from wayside_app.window.plot.tools_row import RIDER, ToolsRow
from wayside_app.window.plot.under_plot import UnderPlot
from wayside_app.window.plot.under_series import (
    LEVEL,
    RESIDUALS,
    SLOWNESS,
    WAVE,
    Series,
    level_series,
    residual_series,
    slowness_series,
    wave_series,
)

_SETTLE_MS = 120
_LEVEL_COLUMNS = 1200


class Looker(QObject):
    """Connects the tools above the plot with the plot and the one below."""

    def __init__(
        self,
        bench: Bench,
        plot: SpectrogramPlot,
        under: UnderPlot,
        tools: ToolsRow,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._bench, self._plot, self._under, self._tools = bench, plot, under, tools
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(_SETTLE_MS)
        self._settle.timeout.connect(self._ask_level)
        plot.picture_wanted.connect(self._ask_picture)
        plot.box.sigXRangeChanged.connect(lambda *_: self._settle.start())
        plot.cursor_.moved.connect(self._read)
        plot.cursor_.hidden.connect(lambda: tools.read(""))
        bench.picture_ready.connect(plot.show_detail)
        bench.envelope_ready.connect(self._take_level)
        bench.measured.connect(self._new_results)
        bench.predicted.connect(self._show_under)
        bench.recording_changed.connect(self._new_recording)
        tools.scale_chosen.connect(plot.use_scale)
        tools.under_chosen.connect(lambda _: self._show_under())
        tools.frame_chosen.connect(lambda frame: plot.straighten(frame == RIDER))
        tools.tone_scale.changed.connect(plot.set_tones)
        plot.tones_set.connect(tools.tone_scale.show_range)

    # --- the picture --------------------------------------------------------------------

    def _ask_picture(self, request: PictureRequest) -> None:
        m, heard = self._bench.measurement, self._bench.heard
        if self._tools.frame.currentData() == RIDER and heard is not None and m and m.fit:
            rider = rider_sound_of(heard.recording, m)
            self._bench.ask_picture(request, partial(_draw_straight, rider))
        else:
            self._bench.ask_picture(request)

    def _new_recording(self) -> None:
        self._plot.cursor_.hide()
        self._show_under()

    def _new_results(self) -> None:
        m = self._bench.measurement
        fitted = m is not None and m.fit is not None
        self._tools.frame.setEnabled(fitted)
        if not fitted:
            self._tools.frame.setCurrentIndex(0)
        elif self._tools.frame.currentData() == RIDER:
            self._plot.redraw()
        self._show_under()

    # --- the cursor ---------------------------------------------------------------------

    def _read(self, time_s: float, pitch_hz: float) -> None:
        parts = [
            f"{figures.plain(time_s, 2)} s",
            f"{figures.plain(pitch_hz, 1)} Hz",
        ]
        if self._plot.scale_.notes and pitch_hz > 0:
            parts.append(note_name(pitch_hz))
        m = self._bench.measurement
        rider = self._tools.frame.currentData() == RIDER
        if m is not None and m.fit is not None and pitch_hz > 0 and not rider:
            fitted = float(m.fit.passby.pitch([time_s])[0])
            cents = 1200.0 * math.log2(pitch_hz / fitted)
            text = self.tr("{cents} cents from the fit")
            parts.append(text.format(cents=figures.signed(cents, 0)))
        level = self._plot.level_db(time_s, pitch_hz)
        if level is not None:
            parts.append(f"{figures.plain(level, 0)} dB")
        self._tools.read("   ".join(parts))

    # --- the plot below -----------------------------------------------------------------

    def _show_under(self) -> None:
        kind = self._tools.under.currentData()
        if kind in (LEVEL, WAVE):
            self._settle.start()
        else:
            self._under.show_series(self._series(kind))

    def _series(self, kind: str) -> Series | None:
        m = self._bench.measurement
        if m is None or m.fit is None:
            return None
        if kind == RESIDUALS:
            return residual_series(m.fit)
        if kind == SLOWNESS:
            times = curve_times(m.fit.passby, m.start_s, m.stop_s)
            return slowness_series(m, m.fit, self._bench.prediction, np.asarray(times))
        return None

    def _ask_level(self) -> None:
        if self._tools.under.currentData() in (LEVEL, WAVE):
            low, high = self._plot.box.viewRange()[0]
            if high > low:
                self._bench.ask_envelope(low, high, _LEVEL_COLUMNS)

    def _take_level(self, envelope: Envelope) -> None:
        kind = self._tools.under.currentData()
        if kind == LEVEL:
            self._under.show_series(level_series(envelope))
        elif kind == WAVE:
            self._under.show_series(wave_series(envelope))


def _draw_straight(rider: RiderSound, request: PictureRequest, job: Job) -> Picture:
    return straightened(rider, request, job)
