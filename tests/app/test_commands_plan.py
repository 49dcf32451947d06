"""``wayside plan``: text, JSON, picture, and refusals."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wayside_app.cli import main

TONE = ["plan", "--pitch", "0.9kHz", "--speed", "18km/h", "8", "--distance", "2m", "--run", "50m"]


def test_text_tells_pitches_windows_and_safety(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(TONE) == 0
    text = capsys.readouterr().out
    for words in ("What will be heard", "far pitches can be read", "Safety", "5.00 m/s"):
        assert words in text


def test_json_and_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture = tmp_path / "plan.svg"
    assert main([*TONE, "--markers", "10", "--json", "--picture", str(picture)]) == 0
    values = json.loads(capsys.readouterr().out)
    assert values["request"]["pitch_hz"] == pytest.approx(900)
    assert values["request"]["speed_low_mps"] == pytest.approx(5)
    assert values["cases"][-1]["speed_mps"] == pytest.approx(8)
    assert picture.stat().st_size > 1000


def test_plan_from_a_set_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    setup = {
        "format": "wayside-setup",
        "version": 1,
        "motion": {"speed": {"value": 6.0, "unit": "m/s", "u": 0.1}},
        "source": {
            "kind": "wheel",
            "count": {"value": 62},
            "loaded_radius": {"value": 32, "unit": "cm", "u": 0.3},
        },
        "air": {"formula": "ideal-gas", "temperature": {"value": 10, "unit": "°C", "u": 1}},
        "microphone": {"distance": {"value": 1.5, "unit": "m", "u": 0.05}},
    }
    path = tmp_path / "lane.json"
    path.write_text(json.dumps(setup), encoding="utf-8")
    assert main(["plan", str(path), "--speed", "4", "8", "--json"]) == 0
    request = json.loads(capsys.readouterr().out)["request"]
    assert request["cycles_per_metre"] == pytest.approx(62 / (2 * 3.14159265 * 0.32))
    assert request["closest_m"] == 1.5
    assert request["speed_high_mps"] == 8
    del setup["microphone"]
    path.write_text(json.dumps(setup), encoding="utf-8")
    assert main(["plan", str(path)]) == 2
    assert main(["plan", str(path), "--distance", "6ft"]) == 0


@pytest.mark.parametrize(
    "words",
    [
        ["plan"],
        ["plan", "--pitch", "900", "--speed", "5"],
        ["plan", "--pitch", "900", "--per-metre", "30", "--speed", "5", "--distance", "2"],
        ["plan", "--pitch", "loud", "--speed", "5", "--distance", "2"],
        ["plan", "--pitch", "900", "--speed", "5", "6", "7", "--distance", "2"],
        ["plan", "--pitch", "900", "--speed", "5s", "--distance", "2"],
        ["plan", "--pitch", "900", "--speed", "400", "--distance", "2"],
        ["plan", "--pitch", "900", "--speed", "5", "--distance", "2", "--want", "nan"],
    ],
)
def test_bad_usage_is_one_sentence_and_exit_code_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    assert capsys.readouterr().err.count("\n") == 1
