"""What can go wrong around a session: two windows, dead ones, full disks, hostile files."""

from __future__ import annotations

import errno
import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import drop, fill_in, retype

from wayside.session.document import SUFFIX, read_session, write_session
from wayside.session.session import MediaRef, Run, Session
from wayside_app.window.document.lock import HELD, TAKEN, SessionLock
from wayside_app.window.main_window import MainWindow
from wayside_app.window.runs.model import KEY_ROLE, NAME

Wait = Callable[[MainWindow], None]
LEFT = Qt.MouseButton.LeftButton
NOBODY = 65534

MARKUP = "<b>bold</b><img src='file:///etc/passwd'>&amp;"


# --- two windows -------------------------------------------------------------------------------


def test_the_second_window_is_told_who_has_it_open_and_may_open_a_copy(
    qtbot: QtBot, make_window: Callable[[], MainWindow], tmp_path: Path
) -> None:
    first, second = make_window(), make_window()
    fill_in(qtbot, first)
    target = tmp_path / f"lab{SUFFIX}"
    assert first.keeper.save(target)
    before = target.read_bytes()
    drop(second, [target])
    said = second.banner.sentence
    assert "lab.wayside.json is open in another window" in said
    assert socket.gethostname() in said
    assert str(os.getpid()) in said
    assert second.banner.action.text() == "Open a copy"
    qtbot.mouseClick(second.banner.action, LEFT)
    assert second.bench.session == first.bench.session
    assert second.keeper.path is None
    assert second.isWindowModified(), "a copy has no file yet"
    assert not second.keeper.save(target), "the copy cannot take the other's place"
    assert second.keeper.save(tmp_path / "copy")
    retype(qtbot, second.hand.row("air.temperature").value, "25")
    assert second.keeper.save()
    assert target.read_bytes() == before
    assert read_session(target).entry("air.temperature").text == "20"


HOLDER = """
import sys
from pathlib import Path
from wayside_app.window.document.lock import SessionLock
lock = SessionLock(Path(sys.argv[1]))
print(lock.state, flush=True)
sys.stdin.read()
"""


def test_the_lock_of_a_dead_program_is_taken_over(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    target = tmp_path / f"lab{SUFFIX}"
    write_session(Session(), target)
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(target)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(("core", "app"))},
    )
    assert holder.stdout is not None
    assert holder.stdin is not None
    assert holder.stdout.readline() == b"held\n"
    lock = SessionLock(target)
    assert lock.state == TAKEN
    assert lock.holder is not None
    assert (lock.holder.process, lock.holder.host) == (holder.pid, socket.gethostname())
    assert not window.keeper.open(target)
    assert str(holder.pid) in window.banner.sentence
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    holder.stdin.close()
    holder.stdout.close()
    assert (tmp_path / f".{target.name}.lock").exists(), "it left its lock behind"
    assert window.keeper.open(target)
    assert window.banner.sentence == ""


def test_a_lock_is_gone_with_its_window(
    qtbot: QtBot, make_window: Callable[[], MainWindow], tmp_path: Path
) -> None:
    window = make_window()
    target = tmp_path / f"lab{SUFFIX}"
    assert window.keeper.save(target)
    window.close()
    assert not (tmp_path / f".{target.name}.lock").exists()
    lock = SessionLock(target)
    assert lock.state == HELD
    lock.release()


# --- places that take no file ------------------------------------------------------------------


@pytest.fixture
def locked_folder() -> Iterator[Path]:
    """A folder that this process may read and not write to, also when it is the superuser."""
    folder = Path(tempfile.mkdtemp(prefix="read-only-"))
    write_session(Session().with_choice("title", "kept"), folder / f"lab{SUFFIX}")
    (folder / f"lab{SUFFIX}").chmod(0o444)
    folder.chmod(0o555)
    root = os.geteuid() == 0
    if root:
        os.seteuid(NOBODY)
    try:
        yield folder
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o755)
        for path in folder.iterdir():
            path.unlink()
        folder.rmdir()


def test_a_read_only_folder_is_opened_for_reading_and_says_so(
    qtbot: QtBot, window: MainWindow, locked_folder: Path
) -> None:
    target = locked_folder / f"lab{SUFFIX}"
    before = target.read_bytes()
    assert window.keeper.open(target)
    assert "open for reading only" in window.banner.sentence
    assert window.bench.session.choices["title"] == "kept"
    retype(qtbot, window.hand.row("air.temperature").value, "25")
    assert not window.keeper.save()
    assert "not saved" in window.banner.sentence
    assert "permission denied" in window.banner.sentence
    assert window.isWindowModified()
    assert target.read_bytes() == before
    assert [p.name for p in locked_folder.iterdir()] == [target.name]


@pytest.mark.parametrize("where", ["write", "fsync", "replace"])
def test_a_full_disk_loses_nothing_and_is_said(
    qtbot: QtBot,
    window: MainWindow,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    where: str,
) -> None:
    fill_in(qtbot, window)
    target = tmp_path / f"lab{SUFFIX}"
    assert window.keeper.save(target)
    before = target.read_bytes()
    retype(qtbot, window.hand.row("air.temperature").value, "25")

    def full(*args: object, **kwargs: object) -> object:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        if where == "write":
            real = os.fdopen

            def filling(handle: int, *args: object, **kwargs: object) -> object:
                file = real(handle, *args, **kwargs)  # type: ignore[call-overload]
                file.close()
                return open("/dev/full", "wb", buffering=0)

            patch.setattr("wayside.files.os.fdopen", filling)
        else:
            patch.setattr(f"wayside.files.os.{where}", full)
        assert not window.keeper.save()
    assert "not saved" in window.banner.sentence
    assert "no space left on device" in window.banner.sentence
    assert target.read_bytes() == before
    assert window.isWindowModified()
    assert sorted(p.name for p in tmp_path.iterdir() if p.suffix == ".part") == []
    assert window.keeper.save(), "with room again it is saved"
    assert read_session(target).entry("air.temperature").text == "25"


# --- hostile files -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path", ["../outside/victim.wav", "{absolute}", "a/../../outside/./victim.wav"]
)
def test_a_recording_outside_the_folder_is_only_ever_read(
    qtbot: QtBot, window: MainWindow, core: Core, tmp_path: Path, all_measured: Wait, path: str
) -> None:
    outside, inside = tmp_path / "outside", tmp_path / "inside"
    outside.mkdir()
    inside.mkdir()
    victim = outside / "victim.wav"
    victim.write_bytes(b"precious")
    os.utime(victim, (1e9, 1e9))
    target = inside / f"lab{SUFFIX}"
    write_session(Session((Run(MediaRef(str(victim))), Run(MediaRef(str(victim)), key=2))), target)
    data = json.loads(target.read_text())
    for run in data["runs"]:
        run["media"]["path"] = path.format(absolute=victim)
        run["name"] = run["group"] = "../../outside/victim"
    target.write_text(json.dumps(data))
    assert window.keeper.open(target)
    all_measured(window)
    window.runs.show_all()
    window.pages.turn_back()
    fill_in(qtbot, window)
    window.keeper.keep_now()
    assert window.keeper.save()
    assert core.loads
    assert all(p.resolve() == victim for p in core.loads)
    assert victim.read_bytes() == b"precious"
    assert victim.stat().st_mtime == 1e9
    assert [p.name for p in outside.iterdir()] == ["victim.wav"]
    assert {p.name for p in inside.iterdir()} <= {target.name, f".{target.name}.lock"}


@pytest.mark.parametrize("path", ["/dev/zero", "/proc/self/mem", "../../../../dev/tty", "."])
def test_what_is_no_file_is_never_opened(
    qtbot: QtBot, window: MainWindow, core: Core, tmp_path: Path, path: str
) -> None:
    target = tmp_path / f"lab{SUFFIX}"
    write_session(Session((Run(), Run(key=2))), target)
    data = json.loads(target.read_text())
    for run in data["runs"]:
        run["media"] = {"path": path, "size": -1, "sha256": ""}
    target.write_text(json.dumps(data))
    assert window.keeper.open(target)
    qtbot.waitUntil(
        lambda: bool(window.bench.runs.fault(window.bench.session.runs[1])), timeout=10000
    )
    if path != "/proc/self/mem":
        assert core.loads == []
        assert "no longer where it was" in window.sound.banner.sentence


def test_a_zero_byte_in_a_path_is_refused(window: MainWindow, tmp_path: Path) -> None:
    target = tmp_path / f"lab{SUFFIX}"
    write_session(Session(), target)
    data = json.loads(target.read_text())
    data["runs"][0]["media"] = {"path": "a\0.wav"}
    target.write_text(json.dumps(data))
    before = target.read_bytes()
    assert not window.keeper.open(target)
    assert "runs[0].media.path" in window.banner.sentence
    assert target.read_bytes() == before


def test_markup_is_shown_letter_by_letter_everywhere(
    qtbot: QtBot, window: MainWindow, tmp_path: Path, all_measured: Wait
) -> None:
    recording = tmp_path / "<b>bad<i>.wav"
    good = tmp_path / "<u>good.wav"
    recording.write_bytes(b"1")
    good.write_bytes(b"2")
    runs = (
        Run(MediaRef(str(good)), name=MARKUP, group=MARKUP),
        Run(MediaRef(str(recording)), key=2),
        Run(name=MARKUP, key=3),
    )
    target = tmp_path / f"<h1>lab{SUFFIX}"
    write_session(Session(runs), target)
    assert window.keeper.open(target)
    all_measured(window)
    window.runs.show_all()
    page = window.runs.page
    qtbot.waitUntil(lambda: page.proxy.index(1, 9).data() == "⚠ cannot be used", timeout=5000)
    assert str(page.proxy.index(0, NAME).data()).endswith(MARKUP)
    assert page.proxy.index(2, NAME).data().endswith(f"{MARKUP} (2)")
    tip = str(page.proxy.index(1, 9).data(Qt.ItemDataRole.ToolTipRole))
    assert "&lt;b&gt;bad" in tip
    assert "<b>" not in tip
    for at in range(3):
        page.table.choose(frozenset({page.proxy.index(at, NAME).data(KEY_ROLE)}))
        _no_markup(window)
    window.bench.open_recording(recording)
    qtbot.waitUntil(lambda: "<b>bad" in window.sound.banner.sentence, timeout=10000)
    window.runs.toggle_review()
    _no_markup(window)
    window.runs.leave_review()


def _no_markup(window: MainWindow) -> None:
    """Check that no label takes a hostile text for markup."""
    seen = 0
    for label in window.findChildren(QLabel):
        text = label.text()
        if any(tag in text for tag in ("<b>b", "<u>good", "<img", "<h1>")):
            seen += 1
            plain = label.textFormat() == Qt.TextFormat.PlainText
            assert plain, f"{text!r} would be taken for markup"
        for tag in ("<b>b", "<i>", "<img"):
            assert tag not in label.toolTip()
    assert seen > 0
