"""Set-up files on disk: refused with a sentence, written whole or not at all."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from wayside.errors import SetupError
from wayside.hand import whole_file
from wayside.hand.setup_file import parse_json, read_setup, write_setup
from wayside.hand.setup_json import setup_from_json


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"   \n",
        b"not json",
        b"\xff\xfe\x00\x01",
        b"RIFF\x24\x00\x00\x00WAVEfmt ",
        b"[" * 100_000,
        b'{"format": "wayside-setup", "format": "wayside-setup"}',
        b'{"format": "wayside-setup", "version": NaN}',
        b'{"format": "wayside-setup", "version": 1e999}',
        b'{"format": "wayside-setup", "version": ' + b"1" * 5000 + b"}",
        b'{"format": "wayside-setup", "version": 1',
        b'{"title": "' + b"x" * 1_100_000 + b'"}',
    ],
    ids=range(12),
)
def test_unreadable_file_gets_one_sentence_with_its_name(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "lane.json"
    path.write_bytes(content)
    with pytest.raises(SetupError) as caught:
        read_setup(path)
    assert str(caught.value).startswith("lane.json: ")
    assert str(caught.value).endswith(".")
    assert path.read_bytes() == content


def test_missing_file_and_folder_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.json", tmp_path, "bad\0name"):
        with pytest.raises(SetupError):
            read_setup(path)


def test_brackets_inside_text_are_not_nesting() -> None:
    text = json.dumps({"notes": '[{"\\' * 100})
    assert parse_json(text) == {"notes": '[{"\\' * 100}


def test_byte_order_mark_is_accepted(tmp_path: Path, wheel_data: dict[str, Any]) -> None:
    path = tmp_path / "lane.json"
    path.write_text(json.dumps(wheel_data), encoding="utf-8-sig")
    assert read_setup(path) == setup_from_json(wheel_data)


def test_written_file_reads_back_the_same(tmp_path: Path, wheel_data: dict[str, Any]) -> None:
    setup = setup_from_json(wheel_data)
    path = tmp_path / "lane.json"
    write_setup(setup, path)
    assert read_setup(path) == setup
    assert [p.name for p in tmp_path.iterdir()] == ["lane.json"]


def test_failed_write_leaves_the_old_file(
    tmp_path: Path, wheel_data: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "lane.json"
    path.write_text("precious", encoding="utf-8")

    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_file.os, "replace", fail)
    with pytest.raises(SetupError, match="no space left"):
        write_setup(setup_from_json(wheel_data), path)
    assert path.read_text(encoding="utf-8") == "precious"
    assert [p.name for p in tmp_path.iterdir()] == ["lane.json"]
