"""The bar for listening: what, where from, play or stop, and how loud."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSlider, QWidget

from wayside.errors import InputError, WaysideError
from wayside.listen.programme import (
    BOTH,
    LONGEST_S,
    PASS,
    RECORDING,
    RIDER,
    TONE,
    TURNS,
    Programme,
    Wish,
    prepare,
)
from wayside.session.session import Span, Windows
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.controls import Choice, text_label
from wayside_app.window.jobs import Task
from wayside_app.window.listen.player import Player
from wayside_app.window.words import said

LISTEN = "listen"
HERE, APPROACH, RECEDE = "here", "approach", "recede"


class ListenBar(QWidget):
    """Plays what is chosen.

    Signals
    -------
    at(time_s)
        Where on the recording's clock the sound is now.
    quiet()
        Nothing plays any more.
    """

    at = Signal(float)
    quiet = Signal()

    def __init__(
        self, bench: Bench, make_player: Callable[[], Player], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._bench = bench
        self._make_player = make_player
        self._player: Player | None = None
        self._programme: Programme | None = None
        self._view: Span = (0.0, 0.0)
        self._windows = Windows()
        self.what = Choice(self.tr("What to listen to"), self)
        for key, name in (
            (RECORDING, self.tr("the recording")),
            (TONE, self.tr("the predicted tone")),
            (TURNS, self.tr("recording and prediction in turn")),
            (BOTH, self.tr("both at once: hear them beat")),
            (RIDER, self.tr("what the rider heard")),
            (PASS, self.tr("the predicted pass-by")),
        ):
            self.what.addItem(name, key)
        self.where = Choice(self.tr("Where to listen"), self)
        for key, name in (
            (HERE, self.tr("from the cursor or left edge")),
            (APPROACH, self.tr("approach window, over and over")),
            (RECEDE, self.tr("recede window, over and over")),
        ):
            self.where.addItem(name, key)
        self.play = QPushButton(self.tr("Play"), self)
        self.volume = QSlider(Qt.Orientation.Horizontal, self)
        self.volume.setAccessibleName(self.tr("Loudness"))
        self.volume.setRange(0, 100)
        self.volume.setValue(50)
        self.volume.setFixedWidth(110)
        self.remark = text_label("quiet", "", wrap=True)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for choice in (self.what, self.where):
            choice.setProperty("part", "small")
        for part in (self.play, self.what, self.where, self.volume):
            row.addWidget(part)
        row.addWidget(self.remark, 1)
        self.play.clicked.connect(self.toggle)
        self.volume.valueChanged.connect(self._set_volume)
        bench.recording_changed.connect(self.stop)
        bench.runner.busy_changed.connect(self._show_busy)
        bench.runner.progress.connect(self._show_progress)

    @property
    def player(self) -> Player:
        """The player, made when first needed: the sound library is slow to load."""
        if self._player is None:
            self._player = self._make_player()
            self._player.setParent(self)
            self._player.changed.connect(self._show)
            self._player.moved.connect(self._moved)
            self._set_volume(self.volume.value())
            self._show()
        return self._player

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        # not inside the event that shows it: the first look may take a moment
        QTimer.singleShot(0, self, self._show)

    def set_place(self, view: Span, cursor_s: float | None, windows: Windows) -> None:
        """Say what is looked at: it is where listening starts."""
        start = view[0] if cursor_s is None else cursor_s
        self._view = (start, max(view[1], start + 0.1))
        self._windows = windows

    def toggle(self) -> None:
        """Play, or stop."""
        if self.player.playing or self._bench.runner.busy(LISTEN):
            self.stop()
            return
        if self.player.reason:
            return
        try:
            wish = self._wish()
        except InputError as error:
            self.remark.setText(said(str(error)))
            return
        bench = self._bench
        recording = None if bench.heard is None else bench.heard.recording
        work = partial(prepare, wish, recording, bench.measurement, bench.prediction)
        self.remark.setText("")
        loop = self.where.currentData() != HERE and wish.kind not in (RIDER, PASS)
        bench.runner.start(Task(LISTEN, work, partial(self._start, loop), self._failed))

    def stop(self) -> None:
        """Stop playing."""
        self._bench.runner.drop(LISTEN)
        if self._player is not None:
            self._player.stop()

    def _set_volume(self, value: int) -> None:
        if self._player is not None:
            self._player.set_volume(value / 100.0)

    def _wish(self) -> Wish:
        kind, where = self.what.currentData(), self.where.currentData()
        if where == HERE:
            stop = self._view[0] + LONGEST_S if kind == RECORDING else self._view[1]
            return Wish(kind, self._view[0], stop)
        span = self._windows.approach_s if where == APPROACH else self._windows.recede_s
        if span is None:
            raise InputError(self.tr("There is no reading window yet; measure first."))
        return Wish(kind, span[0], span[1], where)

    def _show_busy(self, kind: str, busy: bool) -> None:
        if kind == LISTEN:
            if not busy:
                self.remark.setText("")
            self._show()

    def _show_progress(self, kind: str, fraction: float, message: str) -> None:
        if kind == LISTEN and math.isfinite(fraction):
            percent = self.tr("{percent} %").format(percent=round(100 * fraction))
            self.remark.setText(f"{said(message)} {percent}")

    def _start(self, loop: bool, programme: Programme) -> None:
        self._programme = programme
        self.player.play(programme.samples, programme.rate_hz, loop)
        if programme.pitch_hz is not None:
            text = self.tr("predicted {hz} Hz")
            self.remark.setText(text.format(hz=figures.plain(programme.pitch_hz, 1)))

    def _failed(self, error: WaysideError) -> None:
        self.remark.setText(said(str(error)))

    def _moved(self, seconds: float) -> None:
        if self._programme is not None and self._programme.start_s is not None:
            self.at.emit(self._programme.start_s + seconds)

    def _show(self) -> None:
        player = self.player
        busy = player.playing or self._bench.runner.busy(LISTEN)
        self.play.setText(self.tr("Stop") if busy else self.tr("Play"))
        able = not player.reason
        for part in (self.play, self.what, self.where, self.volume):
            part.setEnabled(able)
        if not able:
            self.remark.setText(player.reason)
        elif self.remark.text() and not player.playing and self._programme is None:
            self.remark.setText("")
        if not player.playing:
            self.quiet.emit()
