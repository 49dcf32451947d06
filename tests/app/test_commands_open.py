"""``wayside open`` where no window can be opened: one sentence and exit code 2."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from wayside_app.cli import BAD_INPUT, main

SAMPLES = Path(__file__).parents[2] / "sample_media"


def test_a_missing_file_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["open", "no-such-film.mp4"]) == BAD_INPUT
    said = capsys.readouterr().err
    assert "no-such-film.mp4" in said
    assert said.count("\n") == 1
    assert main(["open", "--setup", "none.json"]) == BAD_INPUT


def test_without_a_screen_it_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    assert main(["open"]) == BAD_INPUT
    assert "no screen" in capsys.readouterr().err


def test_without_the_library_it_says_what_to_do(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    monkeypatch.setitem(sys.modules, "wayside_app.window.run", None)
    assert main(["open"]) == BAD_INPUT
    assert "README" in capsys.readouterr().err


def test_the_language_asked_for_is_spoken(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from wayside_app.window import run

    asked: list[str] = []

    def run_window(recording: Path | None, setup: Path | None, language: str) -> int:
        asked.append(language)
        return 0

    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    monkeypatch.setattr(run, "run_window", run_window)
    assert main(["open", "--language", "de"]) == 0
    assert main(["open"]) == 0
    assert asked == ["de", ""]
    assert main(["open", "--language", "xx"]) == BAD_INPUT
    assert "xx" in capsys.readouterr().err


def _until_it_listens(pid: int) -> None:
    """Wait until the process answers requests to end, which it does once its window is up."""
    status = Path(f"/proc/{pid}/status")
    for _ in range(120):
        time.sleep(0.5)
        caught = (
            re.search(r"SigCgt:\s*([0-9a-f]+)", status.read_text()) if status.exists() else None
        )
        if caught and int(caught.group(1), 16) >> (signal.SIGTERM - 1) & 1:
            break
    time.sleep(3)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_window_opens_and_ends_when_the_system_asks(number: int, tmp_path: Path) -> None:
    window = subprocess.Popen(
        [
            *(sys.executable, "-m", "wayside_app", "open"),
            *("--setup", str(SAMPLES / "courtyard-buzzer.setup.json")),
            str(SAMPLES / "courtyard-buzzer.flac"),
        ],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(tmp_path)},
        stderr=subprocess.PIPE,
    )
    try:
        _until_it_listens(window.pid)
        assert window.poll() is None, "it should still be open"
        window.send_signal(number)
        _, said = window.communicate(timeout=30)
    finally:
        if window.poll() is None:
            window.kill()
            window.communicate()
    assert b"Traceback" not in said
    assert window.returncode == (130 if number == signal.SIGINT else 0)
