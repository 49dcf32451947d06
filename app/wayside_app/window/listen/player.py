"""Playing sound: the interface, a player that is silent, and which one this machine has."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import (
    QCoreApplication,
    QElapsedTimer,
    QLoggingCategory,
    QObject,
    QTimer,
    Signal,
)

F32 = npt.NDArray[np.float32]

_TICK_MS = 40


class Player(QObject):
    """What every player does.

    Signals
    -------
    changed()
        It started, stopped, or became unable to play.
    moved(seconds)
        How far into the sound it is, while it plays.

    Attributes
    ----------
    reason : str
        Why nothing can be played; empty when it can.
    playing : bool
    """

    changed = Signal()
    moved = Signal(float)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.reason = ""
        self.playing = False
        self._volume = 0.5

    @property
    def volume(self) -> float:
        """Loudness from 0 to 1."""
        return self._volume

    def set_volume(self, volume: float) -> None:
        """Choose the loudness, 0 to 1; it never passes the sound's own level."""
        self._volume = min(max(volume, 0.0), 1.0)

    def play(self, samples: F32, rate_hz: float, loop: bool = False) -> None:
        """Play a sound, shape (n,), from its start; over and over if `loop`."""
        raise NotImplementedError

    def stop(self) -> None:
        """Stop playing."""
        raise NotImplementedError


class SilentPlayer(Player):
    """Keeps time and makes no sound: for tests, and where sound cannot be made.

    Parameters
    ----------
    reason : str
        Why there is no sound; empty to behave as if there were.
    """

    def __init__(self, reason: str = "", parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.reason = reason
        self.samples: F32 = np.empty(0, dtype=np.float32)
        self.rate_hz = 0.0
        self.loop = False
        self._clock = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setInterval(_TICK_MS)
        self._timer.timeout.connect(self._tick)

    def play(self, samples: F32, rate_hz: float, loop: bool = False) -> None:
        if self.reason:
            return
        self.samples, self.rate_hz, self.loop = samples, rate_hz, loop
        self.playing = True
        self._clock.start()
        self._timer.start()
        self.changed.emit()

    def stop(self) -> None:
        self._timer.stop()
        if self.playing:
            self.playing = False
            self.changed.emit()

    def _tick(self) -> None:
        length = self.samples.size / self.rate_hz
        at = self._clock.elapsed() / 1000.0
        if self.loop:
            self.moved.emit(at % length)
        elif at < length:
            self.moved.emit(at)
        else:
            self.stop()


def best_player(parent: QObject | None = None) -> Player:
    """Return a player that sounds, or a silent one that says why it does not."""
    # which optional codecs the library finds is of no interest to whoever wants to listen
    QLoggingCategory.setFilterRules("qt.multimedia*.warning=false\nqt.multimedia*.info=false")
    try:
        from wayside_app.window.listen.sounding import SoundingPlayer
    except ImportError:
        return SilentPlayer(
            QCoreApplication.translate(
                "Player", "The sound part is not installed; install libpulse0 and PySide6-Addons."
            ),
            parent,
        )
    return SoundingPlayer(parent)
