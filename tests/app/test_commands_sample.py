"""``wayside sample`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wayside_app.cli import main


def test_a_sample_with_units_and_its_truth(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "pass.wav"
    words = "--kind wheel --speed 18km/h --distance 2 --duration 1 --slowing 0.1 --wind 10"
    assert main(["sample", str(out), *words.split(), "--temperature", "59 °F"]) == 0
    facts = json.loads((tmp_path / "pass.wav.truth.json").read_text(encoding="utf-8"))
    assert facts["speed_mps"]["value"] == pytest.approx(5.0)
    assert facts["acceleration_mps2"]["value"] == -0.1
    # 59 °F is 15 °C (definition); air of 15 °C carries sound at 340 to 341 m/s
    assert 340 < facts["sound_speed_mps"]["value"] < 341
    assert "speed 5 m/s" in capsys.readouterr().out


def test_everything_at_once(tmp_path: Path) -> None:
    out = tmp_path / "pass.mp4"
    words = (
        "--film --frame-rate 25 --rotation 90 --markers 8ft --channels 2 --spacing 12cm --back 2 "
        "--on 0.3 --traffic 3 --hum 20 --hum-pitch 60 --ground 0.6 --along-wind 3 --gain-control "
        "--clip 0.8 --pan --coherence 200ms --wobble 0.01 --harmonics 1,0.5 --passing 1 "
        "--duration 2.5 --seed 3"
    )
    assert main(["sample", str(out), *words.split()]) == 0
    facts = json.loads((tmp_path / "pass.mp4.truth.json").read_text(encoding="utf-8"))
    assert len(facts["sources"]) == 2
    assert facts["film"]["marker_distance"]["value"] == pytest.approx(8 * 0.3048)
    assert facts["film"]["rotation_deg"] == 90


def test_presets_are_listed_and_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sample", "--preset", "list"]) == 0
    assert "courtyard-tread" in capsys.readouterr().out
    assert main(["sample", str(tmp_path / "x.flac"), "--preset", "courtyard-tread"]) == 0
    assert main(["sample", str(tmp_path / "x.flac"), "--preset", "courtyard-tread", "--force"]) == 0


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("OUT --speed fast", "m/s, km/h, mph"),
        ("OUT --speed 6kg", "m/s, km/h, mph"),
        ("OUT --speed nan", "give a number"),
        ("OUT --speed -3", "above 0"),
        ("OUT --speed 400", "speed of sound"),
        ("OUT --distance 0", "distance"),
        ("OUT --temperature -300", "between -40 and 60"),
        ("OUT --harmonics a,b", "commas"),
        ("OUT --harmonics 0,0", "no harmonic"),
        ("OUT --duration 1e9", "one hour"),
        ("OUT --rate 500", "between 8000 and 192000"),
        ("OUT --clip 3", "fraction of the peak"),
        ("OUT --slowing 20", "smaller acceleration"),
        ("OUT --white nan", "level between"),
        ("OUT --film", ".mp4 or .mov"),
        ("OUT --preset nothing", "choose from"),
        ("OUT --preset courtyard-tread --speed 3", "--speed cannot be used"),
        ("OUT --seed -1", "--seed"),
        ("", "Name the file"),
    ],
)
def test_bad_values_get_one_sentence_and_leave_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: str, sentence: str
) -> None:
    out = str(tmp_path / "x.wav")
    assert main(["sample", *[out if w == "OUT" else w for w in words.split()]]) == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1
    assert "Traceback" not in said
    assert not list(tmp_path.iterdir())
