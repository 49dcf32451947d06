"""``wayside compare --heard`` and its refusals."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from wayside_app.cli import main

SAMPLES = Path(__file__).resolve().parents[2] / "sample_media"
KEYS = (
    "approach_hz", "recede_hz", "source_hz", "speed_mps", "closest_m", "passing_time_s",
    "sound_speed_mps",
)  # fmt: skip
PARTS = {"value", "u", "unit"}

SETUP: dict[str, Any] = {
    "format": "wayside-setup",
    "version": 1,
    "motion": {"speed": {"value": 9.0, "unit": "m/s", "u": 0.15}},
    "source": {"kind": "tone", "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8}},
    "air": {"formula": "ideal-gas", "temperature": {"value": 20, "unit": "°C", "u": 1.0}},
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    target = tmp_path / "lane.json"
    target.write_text(json.dumps(SETUP), encoding="utf-8")
    return target


def test_pitches_judged_by_ear_agree(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(path), "--heard", "452", "429", "1"]) == 0
    assert "agree within their uncertainties" in capsys.readouterr().out


def test_a_wrong_speed_is_named(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # 12 m/s past the same source: 440 c/(c -+ 12)
    assert main(["compare", str(path), "--heard", "455.9", "425.1", "0.2", "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert values["overall"] == "disagree"
    first = values["explanations"][0]
    assert first["path"] == "motion.speed"
    assert first["needed"]["value"] == pytest.approx(12.0, abs=0.2)
    assert values["measurement"] is None


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["--heard", "429", "452", "1"],
        ["--heard", "452", "429", "0"],
        ["--heard", "nan", "429", "1"],
        ["--heard", "452", "429", "1", "--harmonic", "0"],
        ["nowhere.wav", "--heard", "452", "429", "1"],
    ],
)
def test_bad_usage_is_one_sentence_and_exit_code_2(
    path: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    assert main(["compare", str(path), *words]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_recording_end_to_end(capsys: pytest.CaptureFixture[str]) -> None:
    """The bundled buzzer agrees with its hand measurements and its truth."""
    setup, sound = SAMPLES / "courtyard-buzzer.setup.json", SAMPLES / "courtyard-buzzer.flac"
    assert main(["compare", str(setup), str(sound), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    truth = json.loads((SAMPLES / "courtyard-buzzer.flac.truth.json").read_text(encoding="utf-8"))
    assert values["found"]
    assert values["overall"] == "agree"
    assert len(values["readings"]) == 2
    for key in KEYS:
        assert values["prediction"][key] is None or set(values["prediction"][key]) == PARTS
        assert set(values["measurement"][key]) == PARTS
    speed = values["rows"]["speed_mps"]["measured"]["value"]
    assert speed == pytest.approx(truth["speed_mps"]["value"], rel=0.005)


def test_recording_without_a_pass_is_exit_code_3(capsys: pytest.CaptureFixture[str]) -> None:
    setup = SAMPLES / "courtyard-buzzer.setup.json"
    sound = SAMPLES / "courtyard-siren-standing.flac"
    assert main(["compare", str(setup), str(sound), "--json"]) == 3
    assert json.loads(capsys.readouterr().out)["found"] is False


def test_whirled_source_is_refused_before_any_decoding(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    whirled = {k: v for k, v in SETUP.items() if k != "motion"} | {
        "source": {
            "kind": "whirled",
            "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8},
            "circle_radius": {"value": 0.9, "unit": "m", "u": 0.01},
            "turns": {"value": 10},
            "turns_time": {"value": 6.4, "unit": "s", "u": 0.1},
            "listener_distance": {"value": 5, "unit": "m", "u": 0.1},
        }
    }
    path.write_text(json.dumps(whirled), encoding="utf-8")
    assert main(["compare", str(path), "nowhere.wav"]) == 2
    assert "straight line" in capsys.readouterr().err
