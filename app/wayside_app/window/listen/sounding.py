"""The player that sounds, over Qt's multimedia; importing this fails where it is missing."""

from __future__ import annotations

import enum

import numpy as np
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QObject, QTimer
from PySide6.QtMultimedia import QAudio, QAudioFormat, QAudioSink, QMediaDevices

from wayside_app.window.listen.player import F32, Player

_TICK_MS = 40
_LEAST_LOOP_S = 20.0
_MICRO = 1e-6


class SoundingPlayer(Player):
    """Plays through the default output."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._sink: QAudioSink | None = None
        self._buffer: QBuffer | None = None
        self._data = QByteArray()
        self._loop = False
        self._length_s = 0.0
        self._rate = 0.0
        self._devices = QMediaDevices(self)
        self._devices.audioOutputsChanged.connect(self._look)
        self._timer = QTimer(self)
        self._timer.setInterval(_TICK_MS)
        self._timer.timeout.connect(self._tick)
        self._look()

    def set_volume(self, volume: float) -> None:
        super().set_volume(volume)
        if self._sink is not None:
            self._sink.setVolume(self._heard_volume())

    def play(self, samples: F32, rate_hz: float, loop: bool = False) -> None:
        self.stop()
        if self.reason or samples.size == 0:
            return
        self._length_s = samples.size / rate_hz
        self._loop, self._rate = loop, rate_hz
        if loop:
            samples = np.tile(samples, max(1, round(_LEAST_LOOP_S / self._length_s)))
        self._data = QByteArray((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
        self._start()

    def stop(self) -> None:
        self._timer.stop()
        sink, self._sink = self._sink, None
        if sink is not None:
            sink.stateChanged.disconnect(self._state)
            sink.stop()
            sink.deleteLater()
        if self._buffer is not None:
            self._buffer.close()
            self._buffer.deleteLater()
            self._buffer = None
        if self.playing:
            self.playing = False
            self.changed.emit()

    def _start(self) -> None:
        device = QMediaDevices.defaultAudioOutput()
        wanted = QAudioFormat()
        wanted.setSampleRate(round(self._rate))
        wanted.setChannelCount(1)
        wanted.setSampleFormat(QAudioFormat.SampleFormat.Int16)
        self._buffer = QBuffer(self)
        self._buffer.setData(self._data)
        self._buffer.open(QIODevice.OpenModeFlag.ReadOnly)
        self._sink = QAudioSink(device, wanted, self)
        self._sink.setVolume(self._heard_volume())
        self._sink.stateChanged.connect(self._state)
        self.playing = True
        self._sink.start(self._buffer)
        self._timer.start()
        self.changed.emit()

    def _state(self, state: enum.Enum) -> None:
        # compared by name: versions of the library have the states in different classes
        if self._sink is None:
            return
        if state.name == "StoppedState" and self._sink.error().name != "NoError":
            self.reason = self.tr("The loudspeaker did not start; check the sound settings.")
            self.stop()
            self.changed.emit()
        elif state.name == "IdleState":
            again = self._loop
            self.stop()
            if again:
                self._start()

    def _tick(self) -> None:
        if self._sink is not None and self._length_s > 0:
            self.moved.emit((self._sink.processedUSecs() * _MICRO) % self._length_s)

    def _look(self) -> None:
        missing = QMediaDevices.defaultAudioOutput().isNull()
        reason = self.tr("No loudspeaker or headphones were found.") if missing else ""
        if missing:
            self.stop()
        if reason != self.reason:
            self.reason = reason
            self.changed.emit()

    def _heard_volume(self) -> float:
        """Return the linear gain of the slider: half-way sounds half as loud."""
        return float(
            QAudio.convertVolume(
                self._volume,
                QAudio.VolumeScale.LogarithmicVolumeScale,
                QAudio.VolumeScale.LinearVolumeScale,
            )
        )
