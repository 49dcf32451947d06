"""Opening, switching and closing films; bad ones; what people without screen or mouse get."""

from __future__ import annotations

import os
import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from PySide6.QtCore import QCoreApplication, QEvent, QEventLoop, Qt, QTimer
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot
from tests.app.window.film.hands import FILM, Film, open_film, passing_core, wait_for_picture

from wayside.errors import MediaError
from wayside.film.film import open_film as real_open
from wayside.jobs import Job
from wayside_app.window.bench import Bench
from wayside_app.window.film.film_panel import FilmPanel
from wayside_app.window.film.film_source import OPEN
from wayside_app.window.film.keys import film_keys
from wayside_app.window.theme.looks import DARK

LEFT = Qt.MouseButton.LeftButton


def children() -> int:
    """Count the decoding children of this process."""
    told = subprocess.run(
        ["ps", "-o", "args=", "--ppid", str(os.getpid())],
        capture_output=True,
        text=True,
        check=False,
    )
    return sum("film_child" in line for line in told.stdout.splitlines())


def test_before_any_film_it_says_what_to_do(film: Film) -> None:
    assert "There is no film yet" in film.panel.waiting.text.text()
    assert not film.panel.transport.isEnabled()
    assert film.panel.view.accessibleDescription() == "No film is open."


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.mp4", b"frame;time\n1;2\n" * 30, "is a text file"),
        ("b.mp4", b"", "is empty"),
        ("c.mov", b"\x00\x00\x00\x18ftypmp42" + bytes(range(256)) * 80, "lost its index"),
    ],
)
def test_a_bad_film_is_one_sentence_in_the_pictures_place(
    qtbot: QtBot, film: Film, tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    (tmp_path / name).write_bytes(content)
    film.bench.open_recording(tmp_path / name)
    qtbot.waitUntil(lambda: words in film.panel.waiting.text.text(), timeout=20000)
    sentence = film.panel.waiting.text.text()
    assert sentence.endswith(".")
    assert name in sentence
    assert film.panel.waiting.again.isVisible()
    assert not film.panel.waiting.progress.isVisible()
    assert film.panel.source.film is None
    open_film(qtbot, film)
    assert film.panel.view.isVisible()


def test_a_sound_file_has_no_pictures(qtbot: QtBot, film: Film, tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", 0.1 * np.sin(np.arange(48_000) / 10), 48_000)
    film.bench.open_recording(tmp_path / "a.wav")
    qtbot.waitUntil(lambda: "no pictures" in film.panel.waiting.text.text(), timeout=20000)


def test_a_silent_film_gives_times_beside_another_recording(
    qtbot: QtBot,
    film: Film,
    tmp_path: Path,
    make_film: Callable[..., Path],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two recordings share no clock, so neither check nor passing time is claimed."""
    path = make_film(tmp_path / "silent.mp4", np.arange(40) / 30)
    monkeypatch.setattr(
        "wayside_app.window.film.film_panel.QFileDialog.getOpenFileName",
        lambda *_: (str(path), ""),
    )
    sound = tmp_path / "pass.wav"
    sound.write_bytes(b"stand-in")
    film.bench.open_recording(sound)
    qtbot.waitUntil(lambda: film.bench.measurement is not None, timeout=20000)
    qtbot.waitUntil(lambda: film.panel.waiting.choose.isVisible(), timeout=20000)
    qtbot.mouseClick(film.panel.waiting.choose, LEFT)
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    wait_for_picture(qtbot, film)
    film.key(qtbot, Qt.Key.Key_N)
    for key in (Qt.Key.Key_B, Qt.Key.Key_Right, Qt.Key.Key_A):
        film.key(qtbot, key)
    assert film.panel.desk.reading.markers[0].crossing is not None
    assert film.panel.together.passing_seen is None
    assert "no clock in common" in film.panel.findings.basis.text()
    own = film.panel.side.about.own
    film.panel.side.about.head.setChecked(True)
    film.panel.side.ensureWidgetVisible(own)
    qtbot.mouseClick(own, LEFT)
    assert film.bench.session.film_file is None
    qtbot.waitUntil(lambda: film.panel.source.film is None, timeout=20000)
    film.bench.undo_stack.undo()
    qtbot.waitUntil(lambda: film.panel.source.path == path, timeout=20000)
    assert len(film.panel.desk.marks.markers) == 1


def test_opening_can_be_stopped_and_tried_again(qtbot: QtBot) -> None:
    hold = threading.Event()

    def slow(path: Path, *, job: Job) -> object:
        while not hold.is_set():
            job.step(0.5, "Reading the frame times")
            time.sleep(0.005)
        return real_open(path, job=job)

    bench = Bench(passing_core().services())
    panel = FilmPanel(bench, opener=slow)  # type: ignore[arg-type]
    qtbot.addWidget(panel)
    panel.show()
    bench.open_recording(FILM)
    qtbot.waitUntil(lambda: panel.waiting.progress.value() == 500, timeout=20000)
    assert "Opening courtyard-film.mp4" in panel.waiting.text.text()
    qtbot.mouseClick(panel.waiting.stop, LEFT)
    qtbot.waitUntil(lambda: panel.waiting.again.isVisible(), timeout=5000)
    assert "not opened" in panel.waiting.text.text()
    hold.set()
    qtbot.mouseClick(panel.waiting.again, LEFT)
    qtbot.waitUntil(lambda: panel.source.film is not None, timeout=20000)
    panel.close_film()
    assert bench.close()


def test_a_film_opened_too_late_is_closed_again(qtbot: QtBot) -> None:
    hold, opened = threading.Event(), []

    def deaf(path: Path, *, job: Job) -> object:
        hold.wait(20)
        opened.append(real_open(path))
        return opened[-1]

    bench = Bench(passing_core().services())
    panel = FilmPanel(bench, opener=deaf)  # type: ignore[arg-type]
    qtbot.addWidget(panel)
    panel.show()
    bench.open_recording(FILM)
    qtbot.waitUntil(lambda: bench.runner.busy(OPEN), timeout=20000)
    panel.close_film()
    hold.set()
    assert bench.close()
    assert len(opened) == 1
    with pytest.raises(MediaError, match="was closed"):
        opened[0].picture(0)
    assert children() == 0


def test_another_recording_brings_another_film_and_undo_the_first(
    qtbot: QtBot, film: Film, tmp_path: Path, make_film: Callable[..., Path]
) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_N)
    path = make_film(tmp_path / "disc.mp4", np.arange(20) / 30)
    film.bench.open_recording(path)
    qtbot.waitUntil(lambda: film.panel.source.path == path, timeout=20000)
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    wait_for_picture(qtbot, film)
    assert film.panel.view.shown.rgb.shape[:2] == (180, 320)
    assert film.panel.desk.marks.markers == ()
    assert children() == 1
    film.bench.undo_stack.undo()
    qtbot.waitUntil(lambda: film.panel.source.path == FILM, timeout=20000)
    qtbot.waitUntil(lambda: film.panel.source.film is not None, timeout=20000)
    assert len(film.panel.desk.marks.markers) == 1


def test_the_decoding_child_ends_when_the_panel_is_thrown_away(qtbot: QtBot) -> None:
    bench = Bench(passing_core().services())
    panel = FilmPanel(bench)
    panel.show()
    bench.open_recording(FILM)
    qtbot.waitUntil(lambda: panel.source.film is not None, timeout=20000)
    assert children() == 1
    assert bench.close()
    panel.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert children() == 0


def test_a_damaged_frame_is_said_and_the_next_can_be_seen(
    qtbot: QtBot, film: Film, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_film(qtbot, film)
    held = film.panel.source.film
    real_peek, real_picture = held.peek, held.picture

    def picture(index: int, timeout_s: float = 1.0) -> object:
        if index == 5:
            raise MediaError("Frame 5 of “courtyard-film.mp4” is damaged; step to the next one.")
        return real_picture(index, timeout_s)

    monkeypatch.setattr(held, "peek", lambda k: None if k == 5 else real_peek(k))
    monkeypatch.setattr(held, "picture", picture)
    film.panel.desk.go_to(5)
    assert "loading" in film.panel.transport.frame.text()
    qtbot.waitUntil(lambda: "is damaged" in film.panel.banner.sentence, timeout=5000)
    film.key(qtbot, Qt.Key.Key_Right)
    wait_for_picture(qtbot, film)
    assert film.panel.view.shown.index == 6


def test_stepping_never_holds_the_window_up(
    qtbot: QtBot, film: Film, tmp_path: Path, make_film: Callable[..., Path]
) -> None:
    """While a key is held down the loop keeps turning, and the last stroke is where it ends."""
    path = make_film(tmp_path / "long.mp4", np.arange(240) / 60, key_every=120)
    open_film(qtbot, film, path)
    for k in range(60):
        film.key(qtbot, Qt.Key.Key_Right if k % 3 else Qt.Key.Key_PageDown)
    wait_for_picture(qtbot, film)
    assert film.panel.view.shown.time_s == film.panel.desk.time_s


def test_memory_for_frames_stays_within_the_stated_limit(
    qtbot: QtBot, film: Film, tmp_path: Path, make_film: Callable[..., Path]
) -> None:
    limit = 40 * 320 * 180 * 3
    source = film.panel.source
    source._opener = lambda path, job: real_open(path, job=job, limit_bytes=limit)
    path = make_film(tmp_path / "long.mp4", np.arange(150) / 30)
    open_film(qtbot, film, path)
    for index in range(0, 150, 10):
        film.panel.desk.go_to(index)
        wait_for_picture(qtbot, film)
        assert source.film.used_bytes <= limit
    assert "384 MB" in film.panel.side.about.memory.text()


def test_everything_the_keyboard_reaches_has_a_name(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    for _ in range(2):
        film.key(qtbot, Qt.Key.Key_N)
    for fold in (film.panel.side.clap, film.panel.side.ruler, film.panel.side.rate):
        fold.head.setChecked(True)
    QApplication.processEvents()
    inner = {"qt_spinbox_lineedit", "qt_scrollarea_viewport"}
    nameless = [
        w
        for w in film.panel.findChildren(QWidget)
        if w.focusPolicy() & Qt.FocusPolicy.TabFocus
        and w.isVisibleTo(film.panel)
        and w.objectName() not in inner
        and not w.accessibleName()
        and not (isinstance(w, QAbstractButton) and w.text())
    ]
    assert not nameless


def test_picture_and_band_describe_themselves_in_one_sentence(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_N)
    film.key(qtbot, Qt.Key.Key_B)
    film.key(qtbot, Qt.Key.Key_Right)
    film.key(qtbot, Qt.Key.Key_A)
    text = film.panel.view.accessibleDescription()
    assert text.startswith("Frame 2 of 157 at 0.0336 s; marker 1 crossed at 0.0168 ± 0.0097 s")
    assert text.endswith(".")
    assert film.panel.band.accessibleDescription() == text


def test_the_keys_are_listed_on_screen(qtbot: QtBot, film: Film) -> None:
    shown = [label.text() for label in film.panel.side.keys.body.findChildren(QLabel)]
    for key in film_keys():
        assert key.shown in shown
        assert key.what in shown


def test_escape_with_nothing_to_drop_goes_back(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    with qtbot.waitSignal(film.panel.back_wanted, timeout=1000):
        film.key(qtbot, Qt.Key.Key_Escape)


def test_it_paints_in_another_look_and_at_large_text(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    font = QApplication.font()
    font.setPointSizeF(22.0)
    film.panel.set_look(DARK, font)
    film.key(qtbot, Qt.Key.Key_N)
    loop = QEventLoop()
    QTimer.singleShot(50, loop.quit)
    loop.exec()
    image = film.panel.grab().toImage()
    assert not image.isNull()
    line = film.panel.desk.marks.markers[0].line
    place = film.panel.view.mapTo(film.panel, film.at(line.stop))
    near = {
        image.pixelColor(place.x() + dx, place.y() + dy).name()
        for dx in range(-8, 9)
        for dy in range(-8, 9)
    }
    assert DARK.hand in near, "the line's foot is drawn where the line is"
