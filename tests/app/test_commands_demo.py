"""``wayside demo``, and the clean sample measured end to end."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from wayside_app.cli import main


def test_demo_prints_all_three_stages_and_the_next_step(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["demo"]) == 0
    said = capsys.readouterr().out
    stages = [said.index(word) for word in ("--- 1.", "--- 2.", "--- 3.", "Next:")]
    assert stages == sorted(stages)
    assert "agree" in said[stages[2] :]
    # the truth is that of the scene: 6.2 m/s
    (speed,) = re.findall(r"^ *speed +([\d.]+) ± ", said[stages[1] : stages[2]], flags=re.M)
    assert float(speed) == pytest.approx(6.2, rel=1e-3)
    assert not list(tmp_path.iterdir())


def test_demo_keeps_its_files_where_asked_and_replaces_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "courtyard"
    assert main(["demo", "--keep", str(folder)]) == 0
    assert f"--setup {folder}" in capsys.readouterr().out
    names = {p.name for p in folder.iterdir()}
    assert len(names) == 3
    assert main(["demo", "--keep", str(folder)]) == 2
    assert "exists" in capsys.readouterr().err
    (tmp_path / "taken").write_text("")
    assert main(["demo", "--keep", str(tmp_path / "taken")]) == 2
    assert "cannot be made" in capsys.readouterr().err


def test_kept_files_feed_the_other_commands_within_a_tenth_of_a_percent(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["demo", "--keep", str(tmp_path)]) == 0
    capsys.readouterr()
    (setup,) = tmp_path.glob("*.setup.json")
    (recording,) = tmp_path.glob("*.flac")
    (truth,) = tmp_path.glob("*.truth.json")
    facts = json.loads(truth.read_text("utf-8"))
    assert main(["compare", str(setup), str(recording), "--json"]) == 0
    measured = json.loads(capsys.readouterr().out)["measurement"]
    for name in ("speed_mps", "source_hz"):
        true = facts[name]["value"]
        assert measured[name]["value"] == pytest.approx(true, rel=1e-3)
