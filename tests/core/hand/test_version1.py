"""Files of version 1 stay readable for ever, and are written back unchanged."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wayside.hand.predict import predict
from wayside.hand.setup_file import read_setup
from wayside.hand.setup_json import setup_to_json
from wayside.hand.sources import SOURCE_KINDS

FOLDER = Path(__file__).parent / "version1"
FILES = sorted(FOLDER.glob("*.json"))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_file_is_read_and_written_back(path: Path) -> None:
    setup = read_setup(path)
    assert setup_to_json(setup) == json.loads(path.read_text(encoding="utf-8"))
    assert predict(setup).approach_hz.value > predict(setup).recede_hz.value


def test_there_is_a_file_of_every_kind() -> None:
    assert {p.stem for p in FILES} >= set(SOURCE_KINDS)
