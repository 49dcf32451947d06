"""Area 2 with real mouse and keys: opening, progress, cancel, reading windows, undo."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import at_plot, drag, drop, fill_in
from tests.invented import TRUTH

from wayside_app.window.bench import LOAD, MEASURE, PICTURE
from wayside_app.window.main_window import MainWindow


def _open(qtbot: QtBot, window: MainWindow, path: Path) -> None:
    drop(window, [path])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    qtbot.waitUntil(lambda: not window.bench.runner.busy(PICTURE), timeout=20000)


def test_a_dropped_file_is_heard_and_measured(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    assert window.sound.invitation.isVisible()
    _open(qtbot, window, sound_file)
    assert window.sound.plot.isVisible()
    assert window.sound.file_name.text() == "pass.wav"
    assert "9.200 ± 0.090 m/s" in window.verdict.headline.text()
    times, pitches = window.sound.plot.overlays.fit.points
    assert np.allclose(pitches, TRUTH.pitch(times))
    assert "passing at 4.10 s" in window.sound.plot.accessibleDescription()
    # the view has come to the pass by itself
    (x0, x1), (y0, y1) = window.sound.plot.box.viewRange()
    assert x0 < TRUTH.passing_time_s < x1
    assert y0 < TRUTH.recede_hz < TRUTH.approach_hz < y1 < 500


def test_hand_and_sound_meet_in_the_verdict(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    _open(qtbot, window, sound_file)
    fill_in(qtbot, window)
    assert window.verdict.headline.text() == "✓ Hand and sound agree"
    assert window.sound.plot.overlays.prediction.points[0].size > 0
    cells = window.verdict.table.selected_text().splitlines()
    assert cells[0].split("\t")[2] == "423.35 ± 0.12"
    # the air temperature now gives the speed of sound: measured again with it
    qtbot.waitUntil(
        lambda: (
            window.bench.measurement is not None
            and abs(window.bench.measurement.sound_speed_mps.value - 343.0) < 0.01
        ),
        timeout=5000,
    )


def test_a_bad_file_keeps_the_old_one(
    qtbot: QtBot, window: MainWindow, sound_file: Path, tmp_path: Path
) -> None:
    _open(qtbot, window, sound_file)
    bad = tmp_path / "bad.wav"
    bad.write_bytes(b"x")
    drop(window, [bad])
    qtbot.waitUntil(lambda: window.sound.banner.isVisible(), timeout=5000)
    assert "bad.wav holds no sound" in window.sound.banner.sentence
    assert window.sound.file_name.text() == "pass.wav"
    assert window.bench.measurement is not None
    qtbot.mouseClick(window.sound.banner.dismiss, Qt.MouseButton.LeftButton)
    assert not window.sound.banner.isVisible()


def test_work_shows_progress_and_stops_when_asked(
    qtbot: QtBot, window: MainWindow, core: Core, sound_file: Path
) -> None:
    core.hold = threading.Event()
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: "Reading" in window.sound.progress.format(), timeout=5000)
    assert window.sound.progress.isVisible()
    qtbot.mouseClick(window.sound.stop_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not window.bench.runner.busy(LOAD), timeout=5000)
    assert not window.sound.progress.isVisible()
    assert window.bench.heard is None
    assert window.sound.invitation.isVisible()


def test_a_stopped_measurement_can_be_started_again(
    qtbot: QtBot, window: MainWindow, core: Core, sound_file: Path
) -> None:
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: len(core.loads) == 1, timeout=5000)
    core.hold = threading.Event()
    qtbot.waitUntil(lambda: window.bench.runner.busy(MEASURE), timeout=20000)
    qtbot.mouseClick(window.sound.stop_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: not window.bench.runner.busy(MEASURE), timeout=5000)
    assert window.bench.measurement is None
    core.hold.set()
    assert window.sound.again_button.isVisible()
    qtbot.mouseClick(window.sound.again_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)


def test_a_newer_file_wins_over_a_slower_older_one(
    qtbot: QtBot, window: MainWindow, core: Core, sound_file: Path, tmp_path: Path
) -> None:
    core.hold = threading.Event()
    drop(window, [sound_file])
    second = tmp_path / "second.wav"
    second.write_bytes(b"x")
    qtbot.waitUntil(lambda: len(core.loads) == 1, timeout=5000)
    drop(window, [second])
    core.hold.set()
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    assert window.sound.file_name.text() == "second.wav"


def test_closing_while_busy_stops_the_work(
    qtbot: QtBot, window: MainWindow, core: Core, sound_file: Path
) -> None:
    core.hold = threading.Event()
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: len(core.loads) == 1, timeout=5000)
    assert window.bench.close()


def test_dragging_a_reading_window_moves_it_and_undo_brings_it_back(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    _open(qtbot, window, sound_file)
    plot = window.sound.plot
    assert plot.approach.span == pytest.approx((0.5, 2.5))
    pitch = sum(plot.box.viewRange()[1]) / 2
    start = at_plot(plot, 1.5, pitch)
    pixels = at_plot(plot, 2.0, pitch).x() - start.x()
    drag(plot.viewport(), start, start + QPoint(pixels, 0))
    low, high = plot.approach.span
    assert (low, high) == pytest.approx((1.0, 3.0), abs=0.05)
    assert window.bench.session.windows.approach_s == pytest.approx((low, high))
    assert window.sound.numbers.starts["approach"].value() == pytest.approx(low, abs=0.006)
    assert window.bench.undo_stack.undoText() == "move the approach window"
    qtbot.waitUntil(lambda: "±" in window.sound.numbers.readings["approach"].text(), timeout=5000)
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.bench.session.windows.approach_s is None


def test_typing_a_window_number_moves_the_window(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    _open(qtbot, window, sound_file)
    box = window.sound.numbers.stops["recede"]
    qtbot.mouseClick(box.lineEdit(), Qt.MouseButton.LeftButton)
    box.selectAll()
    qtbot.keyClicks(box, "6.8")
    qtbot.keyClick(box, Qt.Key.Key_Return)
    assert window.sound.plot.recede.span == pytest.approx((5.6, 6.8))
    assert window.bench.session.windows.recede_s == pytest.approx((5.6, 6.8))
    steps = window.bench.undo_stack.count()
    qtbot.keyClick(box, Qt.Key.Key_Tab)
    assert window.bench.undo_stack.count() == steps, "leaving a field is no edit"


def test_keys_move_and_zoom_the_picture(qtbot: QtBot, window: MainWindow, sound_file: Path) -> None:
    _open(qtbot, window, sound_file)
    plot = window.sound.plot
    plot.setFocus()
    (x0, x1), (y0, y1) = plot.box.viewRange()
    qtbot.keyClick(plot, Qt.Key.Key_Plus)
    (a0, a1), (b0, b1) = plot.box.viewRange()
    assert a1 - a0 == pytest.approx(0.8 * (x1 - x0))
    assert (b0, b1) == pytest.approx((y0, y1))
    qtbot.keyClick(plot, Qt.Key.Key_Plus, Qt.KeyboardModifier.ControlModifier)
    (_, _), (b0, b1) = plot.box.viewRange()
    assert b1 - b0 == pytest.approx(0.8 * (y1 - y0))
    qtbot.keyClick(plot, Qt.Key.Key_Home)
    assert plot.box.viewRange()[0] == pytest.approx([0.0, 8.0])


def test_no_pass_by_is_said_plainly(
    qtbot: QtBot, window: MainWindow, core: Core, sound_file: Path
) -> None:
    core.found = False
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    assert window.verdict.headline.text() == "No pass-by found"
    assert "nothing passed" in window.verdict.why.text()
    assert "nothing passed" in window.sound.plot.accessibleDescription()


def test_undo_brings_the_former_recording_back(
    qtbot: QtBot, window: MainWindow, sound_file: Path, tmp_path: Path
) -> None:
    _open(qtbot, window, sound_file)
    second = tmp_path / "second.wav"
    second.write_bytes(b"x")
    drop(window, [second])
    qtbot.waitUntil(lambda: window.sound.file_name.text() == "second.wav", timeout=20000)
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.sound.file_name.text() == "pass.wav"
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)


def test_several_files_at_once(qtbot: QtBot, window: MainWindow, sound_file: Path) -> None:
    setup = sound_file.with_name("none.json")
    setup.write_text("[]")
    drop(window, [setup, sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    assert "none.json" in window.hand.banner.sentence


def test_the_sample_opens_with_its_set_up(
    qtbot: QtBot, window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(
        "wayside_app.window.main_window.user_cache_dir", lambda name: str(tmp_path / name)
    )
    qtbot.mouseClick(window.sound.invitation.sample_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.bench.comparison is not None, timeout=20000)
    assert window.verdict.headline.text() == "✓ Hand and sound agree"
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.bench.heard is None
    assert window.bench.session.entry("source.pitch").blank
