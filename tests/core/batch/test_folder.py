"""What a folder holds, and whose set-up is whose."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.batch.folder import entries_in, shown_name
from wayside.errors import InputError


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    place = tmp_path / "runs"
    place.mkdir()
    for name in ("b.mp4", "a.wav", "a.mp4", "notes.txt", ".hidden.wav", "C.WAV"):
        (place / name).write_bytes(b"x")
    (place / "inner").mkdir()
    (place / "inner" / "d-back.flac").write_bytes(b"x")
    return place


def test_recordings_are_listed_by_name_and_nothing_else(folder: Path) -> None:
    assert [e.name for e in entries_in(folder)] == ["C.WAV", "a.mp4", "a.wav", "b.mp4"]


def test_folders_within_are_groups(folder: Path) -> None:
    last = entries_in(folder, recursive=True)[-1]
    assert (last.name, last.group, last.direction) == ("inner/d-back.flac", "inner", "back")


def test_a_set_up_belongs_to_its_name(folder: Path) -> None:
    for name in ("a.setup.json", "a.mp4.setup.json", "setup.json"):
        (folder / name).write_text("{}")
    got = {e.name: e.setup_name for e in entries_in(folder)}
    assert got == {
        "C.WAV": "setup.json",
        "a.mp4": "a.mp4.setup.json",
        "a.wav": "a.setup.json",
        "b.mp4": "setup.json",
    }


def test_a_given_set_up_stands_before_those_in_the_folder(folder: Path) -> None:
    (folder / "a.setup.json").write_text("{}")
    given_ones = [Path("elsewhere/b.setup.json"), Path("elsewhere/track.json")]
    got = {e.name: e.setup_name for e in entries_in(folder, given_ones)}
    assert got["b.mp4"] == "b.setup.json"
    assert got["a.wav"] == "a.setup.json"
    assert got["C.WAV"] == "track.json"


def test_two_set_ups_for_all_are_refused(folder: Path) -> None:
    with pytest.raises(InputError, match="name of no recording"):
        entries_in(folder, [Path("x.json"), Path("y.json")])


def test_two_set_ups_for_one_recording_are_refused(folder: Path) -> None:
    with pytest.raises(InputError, match="Two set-ups are given for “b”"):
        entries_in(folder, [Path("x/b.setup.json"), Path("y/b.setup.json")])


def test_what_is_no_folder_of_recordings_is_refused(folder: Path, tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    for place, word in ((empty, "no recording"), (folder / "a.wav", "not a folder")):
        with pytest.raises(InputError, match=word):
            entries_in(place)
    with pytest.raises(InputError, match="does not exist"):
        entries_in(tmp_path / "nowhere")


@given(st.binary(min_size=1, max_size=12))
def test_any_name_can_be_written(name: bytes) -> None:
    shown = shown_name(os.fsdecode(name))
    shown.encode("utf-8")
    assert shown.isprintable()
    if all(32 <= b < 127 for b in name):
        assert shown == name.decode()
