"""``wayside measure`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from wayside.physics.passby import PassBy
from wayside.simulate.negatives import negative
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene
from wayside_app.cli import main

RATE = 16_000
# 18 °C air at half saturation carries sound at 342.6 m/s (Cramer 1993, recomputed)
TRUE = PassBy(800.0, 7.0, 1.5, 1.6, 342.6)


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("measure") / "pass.wav"
    sound = render(simple_scene(TRUE, 3.2, RATE, (1.0, 0.4), white_tnr_db=30.0), seed=1)
    soundfile.write(str(path), sound, RATE, subtype="PCM_16")
    return path


def _refuse(word: str) -> Any:
    raise AssertionError(f"{word} is no JSON")


def test_a_pass_by_is_measured_to_a_thousandth(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["measure", str(recording), "--source", "tone", "--temperature", "18C", "--json"]
    assert main(words) == 0
    got = json.loads(capsys.readouterr().out, parse_constant=_refuse)
    assert got["found"] is True
    assert got["speed_mps"]["value"] == pytest.approx(7.0, rel=1e-3)
    assert got["source_hz"]["value"] == pytest.approx(800.0, rel=1e-3)
    assert got["sound_speed_mps"]["value"] == pytest.approx(342.6, abs=0.2)
    # the temperature is known to 1 °C, which is 0.6 m/s
    assert 0.5 < got["sound_speed_mps"]["u"] < 1.2


def test_the_same_temperature_in_either_unit(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    speeds = []
    for temperature in ("15C", "59F"):
        assert main(["measure", str(recording), "--temperature", temperature, "--json"]) == 0
        speeds.append(json.loads(capsys.readouterr().out)["sound_speed_mps"]["value"])
    # 59 °F is 15 °C (definition)
    assert speeds[0] == pytest.approx(speeds[1], abs=1e-6)


def test_the_text_names_every_result(recording: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measure", str(recording), "--source", "tone"]) == 0
    text = capsys.readouterr().out
    for word in (
        "speed",
        "source pitch",
        "approach pitch",
        "recede pitch",
        "closest distance",
        "passing time",
        "speed of sound",
        "Two windows",
        "What limits this",
        "±",
    ):
        assert word in text
    assert "nan" not in text


def test_a_taped_distance_reaches_the_fit(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["measure", str(recording), "--source", "wheel", "--temperature", "18C", "--json"]
    assert main(words) == 0
    free = json.loads(capsys.readouterr().out)
    assert main([*words, "--distance", "1.5", "--distance-u", "0.01"]) == 0
    taped = json.loads(capsys.readouterr().out)
    assert taped["closest_m"]["u"] <= 0.0101
    assert taped["closest_m"]["u"] <= free["closest_m"]["u"]


@pytest.mark.parametrize("kind", ["white", "steady tone", "vibrato", "chirp"])
def test_no_pass_by_ends_with_three(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], kind: str
) -> None:
    path = tmp_path / "other.wav"
    soundfile.write(str(path), negative(kind, 5, 3.0, RATE), RATE)
    assert main(["measure", str(path), "--json"]) == 3
    assert json.loads(capsys.readouterr().out, parse_constant=_refuse)["found"] is False
    if kind == "white":
        assert main(["measure", str(path)]) == 3
        assert "No pass-by found" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        ("--from", "2", "--to", "1"),
        ("--from", "1", "--to", "1"),
        ("--from", "50"),
        ("--from", "nan"),
        ("--to", "-4"),
        ("--to", "inf"),
        ("--band", "900", "400"),
        ("--band", "-1", "400"),
        ("--band", "nan", "400"),
        ("--band", "7900", "9000"),
        ("--temperature", "hot"),
        ("--temperature", "900C"),
        ("--distance", "0"),
        ("--distance", "nan"),
        ("--distance", "2", "--distance-u", "-1"),
        ("--distance", "inf"),
    ],
    ids=" ".join,
)
def test_bad_options_get_one_sentence(
    recording: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    assert main(["measure", str(recording), *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("wayside: ")
    assert err.count("\n") == 1
    assert err.endswith(".\n")


@pytest.mark.parametrize(
    "words", [("--source", "bell"), ("--band", "5"), ("--from", "soon"), ("--loud",)]
)
def test_bad_usage_ends_with_two(
    recording: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    assert main(["measure", str(recording), *words]) == 2
    assert "usage" in capsys.readouterr().err


def test_a_missing_file_gets_one_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["measure", "nowhere/pass.wav"]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "pass.wav" in err


def test_a_stretch_and_a_band_that_hold_the_pass_by_change_nothing(
    recording: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--from", "0.1", "--to", "3.1", "--band", "300", "3000", "--json"]
    assert main(["measure", str(recording), "--source", "tone", *words]) == 0
    got = json.loads(capsys.readouterr().out)
    assert got["source_hz"]["value"] == pytest.approx(800.0, rel=1e-3)
    assert np.all(np.array(got["used_s"]) >= 0.1)
    assert np.all(np.array(got["used_s"]) <= 3.1)
