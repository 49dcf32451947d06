"""``wayside report`` and ``wayside data`` from the command line."""

from __future__ import annotations

import errno
import html
import os
import re
import shlex
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import soundfile

from wayside.hand.setup_file import read_setup
from wayside.session.document import write_session
from wayside.session.hand_form import fill_form
from wayside.session.media import fingerprint
from wayside.session.session import Session
from wayside.simulate.bundle import make_bundle
from wayside_app.cli import main

pytestmark = pytest.mark.usefixtures("qapp")

SOUND, SETUP = "courtyard-buzzer.flac", "courtyard-buzzer.setup.json"


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample")
    make_bundle("courtyard-buzzer", folder)
    noise = np.random.default_rng(5).normal(0.0, 0.1, 24_000)
    soundfile.write(str(folder / "noise.wav"), noise, 16_000, subtype="PCM_16")
    session = fill_form(read_setup(folder / SETUP)).with_media(fingerprint(folder / SOUND))
    assert isinstance(session, Session)
    write_session(session, folder / "buzzer.wayside.json")
    return folder


@pytest.fixture
def here(sample: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of this test alone with the sample in it, where the commands run."""
    for path in sample.iterdir():
        shutil.copy(path, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def refused(words: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    lines = said.err.strip().split("\n")
    assert len(lines) == 1
    return lines[0]


def test_a_report_is_written_and_can_be_repeated_by_its_own_command(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", SOUND, "--setup", SETUP, "-o", "a.html"]) == 0
    assert capsys.readouterr().out == "a.html is written.\n"
    page = (here / "a.html").read_text(encoding="utf-8")
    command = page.split("<pre")[1].split(">", 1)[1].split("</pre>")[0]
    assert command == f"wayside report {SOUND} --setup {SETUP} -o a.html"
    assert fingerprint(here / SOUND).sha256 in page
    assert str(here) not in page
    (here / "a.html").unlink()
    assert main(shlex.split(command)[1:]) == 0
    assert (here / "a.html").read_text(encoding="utf-8") == page


def test_options_come_back_in_the_command(here: Path) -> None:
    words = ["report", SOUND, "-o", "a.html", "--from", "0.5", "--source", "tone"]
    words += ["--temperature", "18C", "--distance", "2.4", "--date", "3 May", "--student"]
    assert main(words) == 0
    page = (here / "a.html").read_text(encoding="utf-8")
    for part in ("--from 0.5", "--source tone", "--temperature 18C", "--distance 2.4", "--student"):
        assert part in page


def test_a_pdf_is_written(here: Path) -> None:
    assert main(["report", SOUND, "--setup", SETUP, "-o", "a.pdf", "--student"]) == 0
    assert (here / "a.pdf").read_bytes().startswith(b"%PDF-")


def test_a_session_is_a_report_too(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["report", "buzzer.wayside.json", "-o", "a.html"]) == 0
    page = (here / "a.html").read_text(encoding="utf-8")
    assert "wayside report buzzer.wayside.json -o a.html" in page
    capsys.readouterr()
    said = refused(["report", "buzzer.wayside.json", "--setup", SETUP, "-o", "b.html"], capsys)
    assert said == "wayside: The session says it all; leave --setup out."
    (here / SOUND).unlink()
    said = refused(["report", "buzzer.wayside.json", "-o", "b.html"], capsys)
    assert "is no longer where it was" in said or "cannot be read" in said
    assert not (here / "b.html").exists()


def test_a_set_up_alone_is_a_report(here: Path) -> None:
    assert main(["report", SETUP, "-o", "a.html"]) == 0
    page = (here / "a.html").read_text(encoding="utf-8")
    assert "Expected by hand" in page
    assert "What the sound says" not in page


def test_no_pass_by_is_said_and_told_by_the_exit_code(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", "noise.wav", "-o", "a.html"]) == 3
    assert "No pass-by found" in capsys.readouterr().out
    assert "No pass-by found" in (here / "a.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["gone.wav", "-o", "a.html"], "gone.wav"),
        ([SOUND, "-o", "a.docx"], "does not end in .html or .pdf"),
        ([SOUND, "-o", "nowhere/a.html"], "There is no folder"),
        ([SOUND, "--setup", "gone.json", "-o", "a.html"], "gone.json"),
        ([SOUND, "--setup", SETUP, "--source", "tone", "-o", "a.html"], "says what --source would"),
        ([SOUND, "--run", "x", "-o", "a.html"], "names a run of a session"),
        ([SETUP, "--setup", SETUP, "-o", "a.html"], "is no recording"),
        ([SOUND, "--band", "9", "3", "-o", "a.html"], "is empty"),
    ],
)
def test_what_cannot_be_done_is_one_sentence(
    here: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert said in refused(["report", *words], capsys)
    assert not list(here.glob("a.*"))


def test_an_old_report_is_kept_unless_told(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old = here / "a.html"
    old.write_text("old", encoding="utf-8")
    assert "exists" in refused(["report", SETUP, "-o", "a.html"], capsys)
    assert old.read_text(encoding="utf-8") == "old"
    assert main(["report", SETUP, "-o", "a.html", "--force"]) == 0
    assert old.read_text(encoding="utf-8") != "old"


def test_a_full_disk_leaves_nothing_behind(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", no_room)
    before = sorted(here.iterdir())
    assert "no space left" in refused(["report", SETUP, "-o", "a.html"], capsys)
    assert sorted(here.iterdir()) == before


def test_data_are_tables_and_figures(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["data", SOUND, "--setup", SETUP, "--out", "numbers"]) == 0
    assert capsys.readouterr().out.startswith("13 files are in numbers:")
    made = {p.name for p in (here / "numbers").iterdir()}
    assert {"fit.csv", "side_by_side.csv", "spectrogram.svg", "spectrogram.png"} <= made
    table = pd.read_csv(here / "numbers" / "side_by_side.csv", comment="#").set_index("quantity")
    # the sample's truth: 6.2 m/s and 1240 Hz
    assert table.loc["speed", "by sound (unit)"] == pytest.approx(6.2, abs=0.03)
    assert table.loc["source pitch", "by sound (unit)"] == pytest.approx(1240.0, abs=0.5)
    first = (here / "numbers" / "fit.csv").read_text(encoding="utf-8").split("\n")[0]
    assert f"wayside data {SOUND} --setup {SETUP} --out numbers" in first
    assert "exists" in refused(["data", SOUND, "--out", "numbers"], capsys)


def test_data_are_the_same_bytes_again(here: Path) -> None:
    words = ["data", SOUND, "--setup", SETUP, "--out", "numbers"]
    assert main(words) == 0
    first = {p.name: p.read_bytes() for p in (here / "numbers").iterdir()}
    assert main([*words, "--force"]) == 0
    assert {p.name: p.read_bytes() for p in (here / "numbers").iterdir()} == first


@pytest.mark.parametrize(
    "name", [os.fsdecode(b"odd\xff\nname"), "<b>bold & 'quoted'", "-=1+1"], ids=["a", "b", "c"]
)
def test_odd_file_names_are_taken_and_repeated(here: Path, name: str) -> None:
    sound = here / f"{name}.flac"
    (here / SOUND).rename(sound)
    words = ["report", f"./{sound.name}", "--setup", SETUP, "-o", f"./{name}.html"]
    assert main(words) == 0
    page = here / f"{name}.html"
    assert b"What the sound says" in page.read_bytes()
    command = re.search("<pre[^>]*>(.*?)</pre>", page.read_text(encoding="utf-8"), flags=re.S)
    assert command is not None
    if name.isprintable():
        words = shlex.split(html.unescape(command[1]))
        assert main([*words[1:], "--force"]) == 0
    assert main(["data", f"./{sound.name}", "--out", f"./{name}"]) == 0
    for table in (here / name).glob("*.csv"):
        assert len(pd.read_csv(table, comment="#")) > 3
