"""Session files: nothing lost, nothing half written, nothing of a newer kind touched."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.session.document import (
    SUFFIX,
    SessionError,
    is_session_file,
    read_session,
    session_from_json,
    session_to_json,
    write_session,
)
from wayside.session.media import fingerprint, locate, same_content
from wayside.session.session import Entry, MediaRef, Run, Session, Windows, session_of

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
ENTRIES = st.dictionaries(
    TEXT,
    st.builds(
        Entry,
        TEXT,
        TEXT,
        TEXT,
        st.sampled_from(["u", "half_width", "resolution"]),
        st.dictionaries(TEXT, TEXT, max_size=2).map(lambda d: tuple(d.items())),
    ),
    max_size=5,
).map(MappingProxyType)
SPANS = st.none() | st.tuples(st.floats(0, 10), st.floats(11, 20))
MEDIA = st.none() | st.builds(
    MediaRef,
    st.sampled_from(["/films/a b.mp4", "/elsewhere/ü.wav", "/sessions/here/c.mov"]),
    st.integers(-1, 10**12),
    TEXT,
)
CHOICES = st.dictionaries(TEXT, TEXT, max_size=5).map(MappingProxyType)
RUNS = st.builds(
    Run,
    media=MEDIA,
    entries=ENTRIES,
    choices=CHOICES,
    tools=ENTRIES,
    windows=st.builds(Windows, SPANS, SPANS),
    film_file=MEDIA,
    name=TEXT,
    group=TEXT,
    direction=st.sampled_from(["", "out", "back"]),
)


@st.composite
def sessions(draw: st.DrawFn) -> Session:
    """Sessions of one to four runs."""
    runs = draw(st.lists(RUNS, min_size=1, max_size=4))
    numbered = tuple(replace(run, key=at + 1) for at, run in enumerate(runs))
    shown = draw(st.integers(0, len(runs) - 1))
    return Session(numbered, shown, draw(ENTRIES), draw(CHOICES))


@given(sessions())
def test_every_session_survives_its_file(session: Session) -> None:
    folder = Path("/sessions/here")
    data = json.loads(json.dumps(session_to_json(session, folder)))
    assert session_from_json(data, folder) == session


def test_the_file_is_readable_and_says_what_it_is(tmp_path: Path) -> None:
    path = tmp_path / f"a{SUFFIX}"
    session = Session().with_entry("motion.marker_distance", Entry("6,1", "m", "0.02"))
    write_session(session, path)
    data = json.loads(path.read_text(encoding="utf-8"))
    assert (data["format"], data["version"]) == ("wayside-session", 2)
    assert data["runs"][0]["hand"]["entries"]["motion.marker_distance"]["text"] == "6,1"
    assert read_session(path) == session
    assert is_session_file(path)


def test_a_folder_with_session_and_recording_can_be_moved(tmp_path: Path) -> None:
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    recording = here / "pass.wav"
    recording.write_bytes(b"sound")
    write_session(session_of(Run(fingerprint(recording))), here / f"a{SUFFIX}")
    here.rename(there)
    media = read_session(there / f"a{SUFFIX}").media
    assert media is not None
    found = locate(media, there)
    assert found is not None
    assert (found.path, found.changed) == (there / "pass.wav", False)


def test_a_recording_beside_the_session_is_found_by_name(tmp_path: Path) -> None:
    recording = tmp_path / "pass.wav"
    recording.write_bytes(b"sound")
    media = MediaRef("/gone/pass.wav", 5, fingerprint(recording).sha256)
    found = locate(media, tmp_path)
    assert found is not None
    assert found.path == recording
    assert same_content(media, recording)
    recording.write_bytes(b"other sound")
    found = locate(media, tmp_path)
    assert found is not None
    assert found.changed
    assert not same_content(media, recording)
    recording.unlink()
    assert locate(media, tmp_path) is None


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"format": "something"}, "no session"),
        ({"version": 3}, "newer program"),
        ({"version": "1"}, "whole number"),
        ({"version": True}, "whole number"),
        ({"runs": {}}, "runs"),
        ({"runs": [{}] * 1001}, "at most 1000"),
        ({"runs": [1]}, r"runs\[0\]"),
        ({"shown": "1"}, "shown"),
        ({"plan": []}, "plan"),
        ({"plan": {"choices": {"a": 1}}}, "plan.choices.a"),
    ],
)
def test_a_wrong_file_is_refused_in_words_and_left_alone(
    tmp_path: Path, change: dict[str, Any], word: str
) -> None:
    path = tmp_path / f"a{SUFFIX}"
    data = session_to_json(Session(), tmp_path) | change
    path.write_text(json.dumps(data))
    before = path.read_bytes()
    with pytest.raises(SessionError, match=word) as caught:
        read_session(path)
    assert path.name in str(caught.value)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"media": "pass.wav"}, "media"),
        ({"media": {"path": ""}}, "path of a recording"),
        ({"media": {"path": "a\0b"}}, "path of a recording"),
        ({"film_file": {"path": "a\0b"}}, "film_file.path"),
        ({"media": {"path": "a", "size": 1.5}}, "size"),
        ({"direction": "up"}, "direction"),
        ({"name": 3}, "name"),
        ({"hand": []}, "hand"),
        ({"hand": {"entries": {"a": 1}}}, "hand.entries.a"),
        ({"hand": {"entries": {"a": {"text": 1}}}}, "hand.entries.a.text"),
        ({"hand": {"entries": {"a": {"u_kind": "x"}}}}, "u_kind"),
        ({"hand": {"choices": {"a": 1}}}, "hand.choices.a"),
        ({"windows": {"approach_s": [2, 1]}}, "earlier first"),
        ({"windows": {"approach_s": [1]}}, "two times"),
        ({"windows": {"recede_s": ["1", "2"]}}, "two times"),
    ],
)
def test_a_wrong_run_is_named_by_its_place(
    tmp_path: Path, change: dict[str, Any], word: str
) -> None:
    path = tmp_path / f"a{SUFFIX}"
    data = session_to_json(Session((Run(), Run(key=2))), tmp_path)
    data["runs"][1] |= change
    path.write_text(json.dumps(data))
    with pytest.raises(SessionError, match=word) as caught:
        read_session(path)
    assert "runs[1]" in str(caught.value)


@pytest.mark.parametrize(
    "raw",
    [b"", b"{", b"\xff\xfe\x00", b"[" * 100_000, b"null", b'{"format": NaN}', b"x" * 5_000_000],
)
def test_rubbish_is_refused_in_words(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "a.json"
    path.write_bytes(raw)
    with pytest.raises(SessionError):
        read_session(path)
    assert not is_session_file(path)


def test_a_missing_file_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(SessionError, match="cannot be opened"):
        read_session(tmp_path / f"none{SUFFIX}")


def test_what_cannot_be_written_leaves_the_old_file(tmp_path: Path) -> None:
    with pytest.raises(SessionError, match="not saved"):
        write_session(Session(), tmp_path / "no such folder" / "a.json")
    folder = tmp_path / "a.json"
    folder.mkdir()
    with pytest.raises(SessionError, match="not saved"):
        write_session(Session(), folder)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.json"], "no scraps are left"


SAVER = """
import sys
from pathlib import Path
from wayside.session.document import write_session
from wayside.session.session import Entry, Session
path, n = Path(sys.argv[1]), 0
while True:
    n += 1
    session = Session()
    text = str(n) * 20000
    session = session.with_entry("a", Entry(text)).with_entry("b", Entry(text))
    write_session(session, path)
    if n == 1:
        print("ready", flush=True)
"""


def test_killed_in_the_middle_of_saving_nothing_is_lost(tmp_path: Path) -> None:
    rng = random.Random(7)
    path = tmp_path / f"a{SUFFIX}"
    for _ in range(6):
        saver = subprocess.Popen(
            [sys.executable, "-c", SAVER, str(path)], stdout=subprocess.PIPE, env=dict(os.environ)
        )
        assert saver.stdout is not None
        assert saver.stdout.readline() == b"ready\n"
        time.sleep(rng.uniform(0.0, 0.05))
        saver.send_signal(signal.SIGKILL)
        saver.wait()
        saver.stdout.close()
        session = read_session(path)
        assert session.entry("a").text
        assert session.entry("a") == session.entry("b"), "half of one save, half of another"
