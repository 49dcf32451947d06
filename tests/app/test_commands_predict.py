"""``wayside predict``: text, JSON, and exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wayside_app.cli import main

SETUP = {
    "format": "wayside-setup",
    "version": 1,
    "motion": {
        "marker_distance": {"value": 39, "unit": "ft", "u": 0.1},
        "first_frame": {"value": 96, "unit": "frames", "resolution": 1},
        "second_frame": {"value": 151.5, "unit": "frames", "resolution": 1},
        "frame_rate": {"value": 29.97, "unit": "frames/s", "u": 0.1},
    },
    "source": {
        "kind": "wheel",
        "count": {"value": 62},
        "nominal_diameter": {"value": 26, "unit": "in", "u": 0.1},
        "squash": {"value": 0.4, "unit": "in", "half_width": 0.2},
    },
    "air": {"formula": "humid-air", "temperature": {"value": 61, "unit": "°F", "u": 1}},
}

KEYS = (
    "approach_hz", "recede_hz", "source_hz", "speed_mps", "closest_m", "passing_time_s",
    "sound_speed_mps",
)  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    target = tmp_path / "lane.json"
    target.write_text(json.dumps(SETUP), encoding="utf-8")
    return target


def test_text_shows_the_steps_and_warns_of_the_frame_rate(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["predict", str(path)]) == 0
    text = capsys.readouterr().out
    assert "v = D × R / (k₂ − k₁)" in text
    assert "T = (61.0 − 32) / 1.8 °C" in text
    assert "vary their frame rate" in text


def test_json_has_the_stable_keys(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["predict", str(path), "--json"]) == 0
    values = json.loads(capsys.readouterr().out)
    assert values["format"] == "wayside-prediction"
    assert values["version"] == 1
    for key in KEYS:
        assert key in values
        if values[key] is not None:
            assert set(values[key]) == {"value", "u", "unit"}
    assert values["closest_m"] is None
    assert values["speed_mps"]["value"] == pytest.approx(39 * 0.3048 * 29.97 / 55.5)
    assert values["setup"] == SETUP


@pytest.mark.parametrize("content", ["", "{}", "words", '{"format": "wayside-setup"}'])
def test_bad_file_is_one_sentence_and_exit_code_2(
    path: Path, capsys: pytest.CaptureFixture[str], content: str
) -> None:
    path.write_text(content, encoding="utf-8")
    assert main(["predict", str(path)]) == 2
    out = capsys.readouterr()
    assert out.out == ""
    assert out.err.count("\n") == 1
    assert "lane.json" in out.err


def test_missing_file_is_exit_code_2(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["predict", "/nowhere/lane.json"]) == 2
    assert "lane.json" in capsys.readouterr().err
