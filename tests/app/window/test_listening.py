"""Listening with keys and mouse, on a player that keeps time in silence."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QSettings, Qt
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import drop, fill_in

from wayside.jobs import Job
from wayside.listen.tones import PEAK_DBFS
from wayside_app.window.listen.listen_bar import APPROACH, LISTEN
from wayside_app.window.listen.player import Player, SilentPlayer, best_player
from wayside_app.window.main_window import MainWindow


@pytest.fixture
def player() -> SilentPlayer:
    return SilentPlayer()


@pytest.fixture
def heard(
    qtbot: QtBot,
    core: Core,
    settings: QSettings,
    tmp_path: Path,
    player: SilentPlayer,
    sound_file: Path,
    make_window: Callable[..., MainWindow],
) -> MainWindow:
    window = make_window(player)
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    return window


def _play(qtbot: QtBot, window: MainWindow, player: SilentPlayer) -> None:
    qtbot.mouseClick(window.sound.listening.play, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: player.playing, timeout=10000)


def test_space_plays_from_the_cursor_and_stops(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer
) -> None:
    plot = heard.sound.plot
    plot.setFocus()
    plot.cursor_.put(3.0, 420.0)
    qtbot.keyClick(plot, Qt.Key.Key_Space)
    assert heard.sound.listening.isVisible()
    qtbot.waitUntil(lambda: player.playing, timeout=10000)
    # from 3 s to the end of the 8 s recording
    assert player.samples.size / player.rate_hz == pytest.approx(5.0, abs=0.01)
    assert not player.loop
    qtbot.waitUntil(lambda: plot._playing.isVisible(), timeout=2000)
    assert 3.0 <= plot._playing.value() < 4.0
    assert heard.sound.listening.play.text() == "Stop"
    qtbot.keyClick(plot, Qt.Key.Key_Space)
    assert not player.playing
    assert not plot._playing.isVisible()


def test_a_reading_window_is_looped_with_its_predicted_tone(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer
) -> None:
    fill_in(qtbot, heard)
    qtbot.mouseClick(heard.sound.listen_button, Qt.MouseButton.LeftButton)
    bar = heard.sound.listening
    bar.where.setCurrentIndex(bar.where.findData(APPROACH))
    bar.what.setFocus()
    qtbot.keyClick(bar.what, Qt.Key.Key_Down)
    _play(qtbot, heard, player)
    assert player.loop
    assert player.samples.size / player.rate_hz == pytest.approx(2.0, abs=0.01)
    spectrum = np.abs(np.fft.rfft(player.samples))
    pitch = float(np.argmax(spectrum) / player.samples.size * player.rate_hz)
    assert heard.bench.prediction is not None
    assert pitch == pytest.approx(heard.bench.prediction.approach_hz.value, abs=1.0)
    assert "predicted 426" in bar.remark.text()


@pytest.mark.parametrize("index", range(6))
def test_everything_on_offer_plays_and_is_safe(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer, index: int
) -> None:
    fill_in(qtbot, heard)
    qtbot.mouseClick(heard.sound.listen_button, Qt.MouseButton.LeftButton)
    heard.sound.listening.what.setCurrentIndex(index)
    _play(qtbot, heard, player)
    assert np.max(np.abs(player.samples)) <= 10 ** (PEAK_DBFS / 20)


def test_what_is_missing_is_said_beside_the_button(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer
) -> None:
    qtbot.mouseClick(heard.sound.listen_button, Qt.MouseButton.LeftButton)
    bar = heard.sound.listening
    bar.what.setCurrentIndex(1)
    qtbot.mouseClick(bar.play, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "complete the form" in bar.remark.text(), timeout=5000)
    assert not player.playing


def test_another_recording_stops_the_sound(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer, tmp_path: Path
) -> None:
    qtbot.mouseClick(heard.sound.listen_button, Qt.MouseButton.LeftButton)
    _play(qtbot, heard, player)
    other = tmp_path / "other.wav"
    other.write_bytes(b"x")
    drop(heard, [other])
    qtbot.waitUntil(lambda: heard.sound.file_name.text() == "other.wav", timeout=20000)
    assert not player.playing


def test_the_loudness_slider_sets_the_volume(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer
) -> None:
    heard.sound.listen_button.click()
    assert heard.sound.listening.player is player
    slider = heard.sound.listening.volume
    slider.setFocus()
    qtbot.keyClick(slider, Qt.Key.Key_Home)
    assert player.volume == 0.0
    qtbot.keyClick(slider, Qt.Key.Key_End)
    assert player.volume == 1.0


def test_the_sound_ends_by_itself(qtbot: QtBot) -> None:
    player = SilentPlayer()
    with qtbot.waitSignal(player.moved, timeout=2000):
        player.play(np.zeros(2000, dtype=np.float32), 8000.0)
    qtbot.waitUntil(lambda: not player.playing, timeout=3000)


def test_without_a_sound_device_the_bar_says_why(
    qtbot: QtBot, make_window: Callable[..., MainWindow]
) -> None:
    window = make_window(SilentPlayer("No loudspeaker or headphones were found."))
    bar = window.sound.listening
    window.sound.play()
    assert not bar.play.isEnabled()
    assert bar.remark.text() == "No loudspeaker or headphones were found."
    assert not window.bench.runner.busy(LISTEN)


def test_without_the_multimedia_library_the_window_still_opens(
    qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "PySide6.QtMultimedia", None)
    monkeypatch.delitem(sys.modules, "wayside_app.window.listen.sounding", raising=False)
    player = best_player()
    assert isinstance(player, SilentPlayer)
    assert "not installed" in player.reason


@pytest.mark.qt_log_level_fail("CRITICAL")
def test_the_real_player_on_this_machine_plays_or_says_why(qtbot: QtBot) -> None:
    player: Player = best_player()
    player.play(np.zeros(800, dtype=np.float32), 8000.0)
    qtbot.wait(100)
    qtbot.waitUntil(lambda: player.playing or bool(player.reason), timeout=2000)
    player.stop()
    assert not player.playing


def test_what_takes_long_to_make_shows_progress_and_can_be_stopped(
    qtbot: QtBot, heard: MainWindow, player: SilentPlayer, monkeypatch: pytest.MonkeyPatch
) -> None:
    def work(wish: object, recording: object, m: object, p: object, job: Job) -> object:
        while True:
            job.step(0.4, "Making the sound ready")
            time.sleep(0.005)

    monkeypatch.setattr("wayside_app.window.listen.listen_bar.prepare", work)
    bar = heard.sound.listening
    qtbot.mouseClick(heard.sound.listen_button, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(bar.play, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "ready 40 %" in bar.remark.text(), timeout=5000)
    assert bar.play.text() == "Stop"
    qtbot.mouseClick(bar.play, Qt.MouseButton.LeftButton)
    assert bar.play.text() == "Play"
    assert bar.remark.text() == ""
    assert not player.playing
