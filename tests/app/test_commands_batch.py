"""``wayside batch`` from the command line."""

from __future__ import annotations

import csv
import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import soundfile

from wayside.physics.passby import PassBy
from wayside.simulate.negatives import negative
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene
from wayside_app.cli import main
from wayside_app.commands.batch import _asked_to_stop

RATE = 16_000
SETUP = """{"format": "wayside-setup", "version": 1,
"motion": {"speed": {"value": 7.0, "unit": "m/s", "u": 0.1}},
"source": {"kind": "tone", "pitch": {"value": 800, "unit": "Hz", "u": 1}},
"air": {"formula": "humid-air", "temperature": {"value": 18, "unit": "°C", "u": 1}}}"""


def _record(path: Path, speed: float = 7.0, seed: int = 1) -> None:
    p = PassBy(800.0, speed, 1.5, 1.6, 342.6)
    sound = render(simple_scene(p, 3.2, RATE, (1.0, 0.4), white_tnr_db=30.0), seed=seed)
    # through a handle: the sound library cannot write every name
    with open(path, "wb") as file:
        soundfile.write(file, sound, RATE, format="WAV", subtype="PCM_16")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "runs"
    place.mkdir()
    _record(place / "a.wav")
    _record(place / "b.wav", 7.1, 2)
    return place


def test_a_folder_is_measured_and_compared(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "track.json").write_text(SETUP, encoding="utf-8")
    words = ["batch", str(folder), "--setup", str(folder / "track.json"), "--workers", "1"]
    assert main(words) == 0
    out, err = capsys.readouterr()
    assert "2 of 2" in err
    for word in ("a.wav", "agree", "All runs together", "Against the prediction", "Odd runs"):
        assert word in out
    got = json.loads((folder / "runs.json").read_text("utf-8"))
    assert [r["name"] for r in got["runs"]] == ["a.wav", "b.wav"]
    assert got["runs"][0]["speed_mps"]["measured"]["value"] == pytest.approx(7.0, rel=2e-3)
    assert got["runs"][0]["setup"] == "track.json"
    # nothing in it depends on this computer or on when it was made
    assert str(folder.parent) not in (folder / "runs.json").read_text("utf-8")


def test_the_same_bytes_again_whatever_the_workers(folder: Path, tmp_path: Path) -> None:
    for name, workers in (("one", "1"), ("two", "2")):
        assert (
            main(["batch", str(folder), "--out", str(tmp_path / name), "--workers", workers]) == 0
        )
    for name in ("runs.json", "runs.csv"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_bad_files_with_hostile_names_cost_only_themselves(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    hostile = ["=1+1.wav", "@x.wav", "-rf.wav", "two\nlines.wav", "\x1b[31m<b>&.wav", "＝2.wav"]
    for name in hostile:
        (folder / name).write_bytes(b"")
    (folder / os.fsdecode(b"\xff.wav")).write_bytes(b"RIFF")
    assert main(["batch", str(folder), "--workers", "1", "--json"]) == 4
    out, err = capsys.readouterr()
    got = json.loads(out)
    assert got["counts"] == {"measured": 2, "refused": 0, "failed": 7}
    assert all(r["sentence"] for r in got["runs"] if r["outcome"] == "failed")
    names = {r["name"] for r in got["runs"]}
    assert {"two\\nlines.wav", "\\x1b[31m<b>&.wav", "\\xff.wav"} <= names
    assert "\x1b" not in err + out
    with open(folder / "runs.csv", encoding="utf-8-sig", newline="") as file:
        lines = list(csv.reader(file))
    assert len(lines) == 10
    assert not any(line[0].startswith(("=", "@", "-", "+", "＝")) for line in lines[1:])


def test_no_pass_by_anywhere_ends_with_three(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    soundfile.write(str(tmp_path / "noise.wav"), negative("white", 5, 3.0, RATE), RATE)
    assert main(["batch", str(tmp_path), "--workers", "1"]) == 3
    assert "No pass-by found" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--workers", "-1"], "--workers"),
        (["--harmonic", "0"], "--harmonic"),
        (["--setup", "nowhere.json"], "nowhere.json"),
        (["--band", "900", "400"], "band"),
        (["--out", "FOLDER/a.wav/out"], "cannot be written"),
    ],
)
def test_bad_options_get_one_sentence_before_any_work(
    folder: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    words = [w.replace("FOLDER", str(folder)) for w in words]
    assert main(["batch", str(folder), *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert said in err


def test_a_folder_without_recordings_ends_with_two(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["batch", str(tmp_path)]) == 2
    assert "holds no recording" in capsys.readouterr().err


def _hears_ctrl_c() -> None:
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.fixture
def own_handlers() -> Iterator[None]:
    """Put back afterwards what signals did."""
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


@pytest.mark.usefixtures("own_handlers")
def test_an_interrupt_is_heeded_between_steps_and_the_second_at_once() -> None:
    numbers = (signal.SIGINT, signal.SIGTERM)
    for number in numbers:
        signal.signal(number, signal.default_int_handler)
    with _asked_to_stop() as stopping:
        assert not stopping()
        signal.raise_signal(signal.SIGTERM)
        assert stopping()
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert [signal.getsignal(number) for number in numbers] == [signal.default_int_handler] * 2


@pytest.mark.usefixtures("own_handlers")
def test_deaf_to_an_interrupt_it_stays_so() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with _asked_to_stop() as stopping:
        signal.raise_signal(signal.SIGINT)
        assert not stopping()


@pytest.mark.parametrize("way", [signal.SIGINT, signal.SIGTERM], ids=["Ctrl+C", "the system"])
def test_a_stopped_batch_goes_on_from_there(
    folder: Path, tmp_path: Path, way: signal.Signals
) -> None:
    # enough to do after the first, so that a busy machine has not done it all before the signal
    more = [folder / f"c{k}.wav" for k in range(10)]
    for path in more:
        shutil.copy(folder / "b.wav", path)
    words = [sys.executable, "-m", "wayside_app", "batch", str(folder), "--workers", "1", "--out"]
    child = subprocess.Popen(
        [*words, str(tmp_path / "out")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # tests started in the background of a shell are deaf to Ctrl+C, and so would be the child
        preexec_fn=_hears_ctrl_c,
    )
    with child:
        assert child.stderr is not None
        try:
            assert child.stderr.readline().startswith("1 of 12")
            if way == signal.SIGINT:
                # as a terminal does it: to every process of the group
                os.killpg(child.pid, way)
            else:
                child.send_signal(way)
            _, err = child.communicate(timeout=30)
        finally:
            if child.poll() is None:
                # or the end of this block would wait for it for good
                os.killpg(child.pid, signal.SIGKILL)
    assert child.returncode == 130
    assert "goes on from there" in err
    assert "Traceback" not in err
    assert not (tmp_path / "out" / "runs.json").exists()

    if way != signal.SIGINT:
        return
    for path in more:
        path.unlink()
    again = subprocess.run(
        [*words, str(tmp_path / "out")], capture_output=True, text=True, timeout=120
    )
    assert again.returncode == 0
    assert "measured before" in again.stderr
    assert main(["batch", str(folder), "--out", str(tmp_path / "fresh"), "--workers", "1"]) == 0
    for name in ("runs.json", "runs.csv"):
        fresh = (tmp_path / "fresh" / name).read_bytes()
        assert (tmp_path / "out" / name).read_bytes() == fresh
