"""``wayside rider`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene
from wayside_app.cli import main

TRUE = PassBy(900.0, 9.0, 1.5, 2.0)
RATE = 16_000


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("rider") / "pass.wav"
    sound = render(simple_scene(TRUE, 4.0, RATE, (1.0, 0.4), white_tnr_db=30.0), seed=1)
    soundfile.write(str(path), sound, RATE, subtype="PCM_24")
    return path


def _line_hz(x: np.ndarray, rate: int) -> float:
    power = np.abs(np.fft.rfft(x * np.hanning(x.size), 16 * x.size))
    return float(np.argmax(power) * rate / (16 * x.size))


def test_the_sound_written_is_that_of_the_source(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "rider.flac"
    assert main(["rider", str(recording), str(out), "--source", "tone"]) == 0
    x, rate = soundfile.read(str(out))
    assert rate == RATE
    assert np.max(np.abs(x)) < 1.0
    # the heard pitch falls by 90 cents; a cent of 900 Hz is 0.5 Hz
    early, late = _line_hz(x[: 1 * rate], rate), _line_hz(x[-1 * rate :], rate)
    assert early == pytest.approx(TRUE.source_hz, abs=0.05)
    assert late == pytest.approx(TRUE.source_hz, abs=0.05)
    text = capsys.readouterr().out
    assert "in the source's own time" in text
    assert "agrees with a constant speed" in text
    assert "cents/s" in text


def test_a_file_is_replaced_only_with_force(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "rider.wav"
    out.write_bytes(b"old")
    assert main(["rider", str(recording), str(out)]) == 2
    assert out.read_bytes() == b"old"
    assert capsys.readouterr().err.count("\n") == 1
    assert main(["rider", str(recording), str(out), "--force"]) == 0
    assert soundfile.info(str(out)).frames > RATE


def test_the_recording_itself_is_not_replaced(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = recording.read_bytes()
    assert main(["rider", str(recording), str(recording), "--force"]) == 2
    assert recording.read_bytes() == before
    assert "the recording itself" in capsys.readouterr().err


def test_json_holds_what_is_documented(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "rider.wav"
    words = ["--json", "--from", "0.5", "--to", "3.6", "--most-gain", "6", "--whole"]
    assert main(["rider", str(recording), str(out), "--source", "tone", *words]) == 0
    got = json.loads(capsys.readouterr().out, parse_constant=_refuse)
    assert (got["format"], got["version"], got["found"]) == ("wayside-rider", 1, True)
    sound = got["sound"]
    assert set(sound) == {
        "file",
        "start_s",
        "duration_s",
        "rate_hz",
        "channels",
        "most_gain_db",
        "turned_down_db",
    }
    assert sound["file"] == "rider.wav"
    assert sound["most_gain_db"] == 6.0
    assert sound["duration_s"] == pytest.approx(soundfile.info(str(out)).duration, abs=1e-6)
    # from where the sound heard at 0.5 s was emitted
    assert sound["start_s"] == pytest.approx(float(TRUE.emission_time(0.5)), abs=1e-3)
    test = got["constant_speed"]
    for name, unit in [
        ("drift_cents", "cent"),
        ("drift_cents_per_s", "cent/s"),
        ("acceleration_mps2", "m/s^2"),
        ("speed_change_percent", "%"),
    ]:
        assert test[name]["unit"] == unit
        assert test[name]["u"] > 0
        assert abs(test[name]["value"]) < 4 * test[name]["u"]
    assert test["agrees"] is True
    assert 0 <= test["probability"] <= 1
    assert test["source_model"] == "fixed"
    assert test["start_s"] < test["stop_s"]
    assert isinstance(test["sentence"], str)
    assert got["measurement"]["format"] == "wayside-measurement"


def _refuse(word: str) -> Any:
    raise AssertionError(f"{word} is no JSON")


def test_without_a_pass_by_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = tmp_path / "noise.wav", tmp_path / "rider.wav"
    noise = 0.1 * np.random.default_rng(1).standard_normal(RATE)
    soundfile.write(str(path), noise, 8000)
    assert main(["rider", str(path), str(out)]) == 3
    assert "No pass-by" in capsys.readouterr().out
    assert main(["rider", str(path), str(out), "--json"]) == 3
    got = json.loads(capsys.readouterr().out)
    assert got["found"] is False
    assert got["measurement"]["detection"]["reason"]
    assert not out.exists()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("rider.mp3", ()),
        ("rider", ()),
        ("none/rider.wav", ()),
        ("rider.wav", ("--most-gain", "nan")),
        ("rider.wav", ("--most-gain", "-1")),
        ("rider.wav", ("--from", "3", "--to", "1")),
        ("rider.wav", ("--temperature", "900C")),
        ("rider.wav", ("--distance", "-2")),
    ],
)
def test_bad_input_gets_one_sentence(
    recording: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    name: str,
    words: tuple[str, ...],
) -> None:
    assert main(["rider", str(recording), str(tmp_path / name), *words]) == 2
    message = capsys.readouterr().err
    assert message.startswith("wayside: ")
    assert message.count("\n") == 1
    assert not list(tmp_path.rglob("*.*"))
