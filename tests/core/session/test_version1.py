"""A session file of the first version, written by that program and kept byte for byte."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from wayside.hand.setup_file import read_setup
from wayside.session.document import VERSION, read_session, write_session
from wayside.session.hand_form import read_form

STORED = Path(__file__).parent / "version1" / "courtyard.wayside.json"
SETUP = Path(__file__).parents[3] / "sample_media" / "courtyard-tread.setup.json"


def test_its_only_run_holds_everything_it_held() -> None:
    session = read_session(STORED)
    assert len(session.runs) == 1
    run = session.run
    assert (run.name, run.group, run.direction) == ("", "", "")
    assert run.media is not None
    assert (Path(run.media.path).parent, run.media.size) == (STORED.parent, 1234)
    assert run.windows.approach_s == (0.5, 1.5)
    assert run.film.true_fps == "240"
    assert run.film.watched == "front axle"
    assert session.entry("heard.approach").text == "853"
    assert session.entry("motion.speed").text == "six"
    assert session.entry("tools.tape").u_text == "0.1"
    reading, setup = read_form(session), read_setup(SETUP)
    assert reading.setup is not None
    assert reading.setup.entries == setup.entries
    assert reading.setup.source_kind == setup.source_kind


def test_what_was_planned_belongs_to_all_runs_now() -> None:
    session = read_session(STORED)
    both = session.with_new(session.run.next(0))
    assert both.shown == 1
    assert both.entry("plan.distance").text == "3"
    assert both.choices["plan.way"] == "wheel"
    assert not any(key.startswith("plan.") for run in both.runs for key in run.entries)


def test_opening_leaves_it_alone_and_saving_makes_it_new(tmp_path: Path) -> None:
    path = tmp_path / STORED.name
    shutil.copy(STORED, path)
    session = read_session(path)
    assert path.read_bytes() == STORED.read_bytes()
    write_session(session, path)
    assert json.loads(path.read_text(encoding="utf-8"))["version"] == VERSION
    assert read_session(path) == session
