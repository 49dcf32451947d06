"""Nothing is half written, nothing is lost, and every refusal is one sentence."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from wayside.errors import InputError
from wayside.report.writing import check_folder, check_target, write_folder, write_out


def sentence(error: pytest.ExceptionInfo[InputError]) -> str:
    text = str(error.value)
    assert "\n" not in text
    assert text.endswith(".")
    return text


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", no_room)


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, full_disk: None) -> None:
    old = tmp_path / "report.html"
    old.write_bytes(b"old")
    with pytest.raises(InputError) as error:
        write_out(old, b"new")
    assert "no space left on device" in sentence(error)
    assert old.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [old]


def test_a_folder_that_may_not_be_written_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # the superuser may write anywhere, so the refusal of the system is stood in for
    def refuse(*args: Any, **kwargs: Any) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr("tempfile.mkstemp", refuse)
    with pytest.raises(InputError) as error:
        write_out(tmp_path / "report.html", b"new")
    assert "permission denied" in sentence(error)


def test_a_folder_that_goes_away_meanwhile(tmp_path: Path) -> None:
    with pytest.raises(InputError) as error:
        write_out(tmp_path / "gone" / "report.html", b"new")
    assert "no such file or directory" in sentence(error)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("report.docx", "does not end in .html or .pdf"),
        ("gone/report.html", "There is no folder"),
        ("folder.html", "is a folder"),
        ("there.html", "exists"),
        ("set-up.html", "is what the report is made from"),
    ],
)
def test_targets_that_are_refused(tmp_path: Path, name: str, words: str) -> None:
    (tmp_path / "folder.html").mkdir()
    (tmp_path / "there.html").write_bytes(b"old")
    source = tmp_path / "set-up.html"
    source.write_bytes(b"source")
    with pytest.raises(InputError) as error:
        check_target(tmp_path / name, force=name == "set-up.html", sources=[source])
    assert words in sentence(error)


def test_force_replaces(tmp_path: Path) -> None:
    old = tmp_path / "report.html"
    old.write_bytes(b"old")
    check_target(old, force=True)
    write_out(old, b"new")
    assert old.read_bytes() == b"new"


def test_a_folder_is_made_and_filled(tmp_path: Path) -> None:
    folder = tmp_path / "numbers"
    check_folder(folder, ["a.csv"], force=False)
    write_folder(folder, {"a.csv": b"1", "b.svg": b"2"})
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == {"a.csv": b"1", "b.svg": b"2"}
    with pytest.raises(InputError) as error:
        check_folder(folder, ["a.csv"], force=False)
    assert "exists" in sentence(error)
    check_folder(folder, ["a.csv"], force=True)


def test_a_file_in_the_way_of_a_folder(tmp_path: Path) -> None:
    there = tmp_path / "numbers"
    there.write_bytes(b"")
    with pytest.raises(InputError) as error:
        check_folder(there, [], force=True)
    assert "is no folder" in sentence(error)
    with pytest.raises(InputError) as error:
        write_folder(there, {"a": b""})
    assert "cannot be made" in sentence(error)
    with pytest.raises(InputError) as error:
        check_folder(tmp_path / "a" / "b", [], force=True)
    assert "There is no folder" in sentence(error)
