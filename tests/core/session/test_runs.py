"""Several runs in one session: what is copied, what stays apart, what the file brings back."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.invented import TRUTH, measurement_of

from wayside.film.geometry import Line, Point
from wayside.film.marks import FilmMarks, Marker, Sighting
from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside.session.document import SUFFIX, SessionError, read_document, write_session
from wayside.session.hand_form import read_form
from wayside.session.kept import kept_from_json, kept_to_json, stamp
from wayside.session.plain import to_plain
from wayside.session.session import Entry, MediaRef, Run, Session, Windows, session_of
from wayside.sound.media import load_recording

MEDIA = MediaRef("/films/a.mp4", 5, "ab" * 32)


def _full() -> Session:
    session = Session().with_media(MEDIA).with_windows(Windows((0.1, 0.5), None))
    for key, text in (
        ("motion.marker_distance", "6.1"),
        ("motion.first_time", "3.75"),
        ("motion.second_time", "4.41"),
        ("motion.first_frame", "90"),
        ("motion.second_frame", "106"),
        ("motion.speed", "9"),
        ("source.count", "92"),
        ("heard.approach", "853"),
        ("tools.tape", "0"),
        ("plan.distance", "3"),
    ):
        session = session.with_entry(key, Entry(text))
    seen = Sighting(30, 1.0, 90.0)
    marker = Marker(Line(Point(1, 2), Point(3, 4)), seen, seen)
    session = session.with_film(FilmMarks((marker,), "axle", "240")).with_choice("motion.way", "x")
    return session.with_run(replace(session.run, name="one", group="A", direction="out"))


def test_the_next_run_has_the_set_up_but_nothing_that_was_read_in_the_last() -> None:
    session = _full()
    both = session.with_new(session.run.next(0))
    assert (len(both.runs), both.shown, both.run.key) == (2, 1, 2)
    new = both.run
    assert dict(new.entries) == {
        "motion.marker_distance": Entry("6.1"),
        "source.count": Entry("92"),
    }
    assert (new.media, new.windows, new.name) == (None, Windows(), "")
    assert (new.group, new.direction) == ("A", "out")
    assert new.tools == session.tools
    assert new.choices == {"motion.way": "x"}
    assert new.film.true_fps == "240"
    assert new.film.markers[0].line == session.film.markers[0].line
    assert new.film.markers[0].before is None
    assert both.showing(0).run == session.run, "the last run keeps all it had"


def test_an_edit_of_one_run_leaves_the_others_alone() -> None:
    both = _full().with_new(Run())
    edited = both.with_entry("source.count", Entry("40")).with_choice("source.kind", "tone")
    assert edited.runs[0] == both.runs[0]
    assert edited.showing(0).entry("source.count").text == "92"
    assert read_form(edited.showing(1)).draft.source_kind == "tone"
    assert edited.showing(0).entry("plan.distance") == edited.entry("plan.distance")


@given(st.integers(1, 8), st.integers(0, 7), st.sets(st.integers(1, 8)))
def test_removing_runs_keeps_the_others_and_shows_a_neighbour(
    count: int, shown: int, gone: set[int]
) -> None:
    runs = tuple(Run(name=str(key), key=key) for key in range(1, count + 1))
    session = Session(runs, min(shown, count - 1))
    left = session.without(frozenset(gone))
    names = [run.name for run in runs if run.key not in gone]
    assert [run.name for run in left.runs] == (names or [""])
    if session.run.key not in gone:
        assert left.run == session.run
    assert len({run.key for run in left.with_new(Run(), Run()).runs}) == len(left.runs) + 2


def test_a_run_is_called_by_its_name_its_recording_or_its_number() -> None:
    assert Run(name=" third ").title(0) == "third"
    assert Run(MEDIA).title(0) == "a"
    assert Run().title(4) == "Run 5"


def test_groups_are_listed_once_in_order() -> None:
    runs = tuple(Run(group=g, key=k) for k, g in enumerate(("b", "", "a", "b"), 1))
    assert Session(runs).groups == ("a", "b")


def test_a_session_always_shows_one_of_its_runs() -> None:
    with pytest.raises(ValueError, match="one of its runs"):
        Session((), 0)
    with pytest.raises(ValueError, match="one of its runs"):
        Session((Run(),), 1)


# --- results kept in the file ---------------------------------------------------------------


def _result() -> Measurement:
    m = measurement_of(TRUTH, MeasureOptions())
    assert m.fit is not None
    return replace(m, alternatives=(m.fit,), warnings=("A warning with ä.",))


def test_a_kept_result_comes_back_bit_for_bit(tmp_path: Path) -> None:
    result, path = _result(), tmp_path / f"a{SUFFIX}"
    session = session_of(Run(MEDIA))
    mark = stamp(MEDIA, MeasureOptions())
    write_session(session, path, lambda run: (mark, result))
    document = read_document(path)
    assert document.session == session
    assert to_plain(document.results[mark]) == to_plain(result)
    back = document.results[mark]
    assert back.track is not None
    assert result.track is not None
    np.testing.assert_array_equal(back.track.pitch_hz, result.track.pitch_hz)
    assert back.fit is not None
    assert back.fit.coherence_time_s == float("inf")


def test_nothing_found_is_a_result_too() -> None:
    m = _result()
    none = Measurement(False, m.detection, m.sound_speed_mps)
    assert kept_from_json(json.loads(json.dumps(kept_to_json("x", none)))) == ("x", none)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d["result"]["fit"]["speed_mps"].update(value=99.0),
        lambda d: d.update(stamp="other"),
        lambda d: d.pop("check"),
        lambda d: d["result"].pop("fit"),
        lambda d: d["result"]["track"].update(times_s=3),
        lambda d: d.update(result=[]),
    ],
)
def test_a_result_that_was_touched_is_measured_again(tmp_path: Path, spoil: Any) -> None:
    path = tmp_path / f"a{SUFFIX}"
    write_session(session_of(Run(MEDIA)), path, lambda run: ("x", _result()))
    data = json.loads(path.read_text())
    spoil(data["runs"][0]["measured"])
    path.write_text(json.dumps(data))
    document = read_document(path)
    assert document.results == {}
    assert document.session == session_of(Run(MEDIA))


def test_the_stamp_changes_with_anything_the_result_rests_on() -> None:
    plain = MeasureOptions()
    changed = {
        "sound_speed": Quantity(340.0, 1.0, "m/s"),
        "start_s": 1.0,
        "stop_s": 2.0,
        "band_hz": (100.0, 200.0),
        "source_kind": "tone",
        "closest": Quantity(2.0, 0.1, "m"),
        "cycles_per_metre": Quantity(40.0, 0.1, "1/m"),
        "approach_window_s": (1.0, 2.0),
        "recede_window_s": (1.0, 2.0),
        "clock_ppm": 1.0,
    }
    assert set(changed) == {f.name for f in fields(MeasureOptions)}
    marks = {stamp(MEDIA, replace(plain, **{k: v})) for k, v in changed.items()}  # type: ignore[arg-type]
    marks.add(stamp(replace(MEDIA, sha256="cd" * 32), plain))
    marks.add(stamp(MEDIA, plain))
    assert len(marks) == len(changed) + 2
    assert stamp(replace(MEDIA, path="/elsewhere"), plain) == stamp(MEDIA, plain)
    assert stamp(MediaRef("/a"), plain) == stamp(None, plain) == ""


def test_a_file_of_a_newer_program_is_left_byte_for_byte(tmp_path: Path) -> None:
    path = tmp_path / f"a{SUFFIX}"
    path.write_bytes(b'{"format": "wayside-session",\r\n "version": 3, "runs": "of another kind"}')
    before, when = path.read_bytes(), path.stat().st_mtime_ns
    with pytest.raises(SessionError, match="newer program") as caught:
        read_document(path)
    assert "left as it is" in str(caught.value) or "left as it was" in str(caught.value)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (before, when)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize("name", ["courtyard-tread.flac", "courtyard-buzzer.flac"])
def test_a_real_measurement_comes_back_whole(name: str) -> None:
    recording = load_recording(Path(__file__).parents[3] / "sample_media" / name)
    result = measure(recording, MeasureOptions())
    assert result.found
    back = kept_from_json(json.loads(json.dumps(kept_to_json("x", result), allow_nan=False)))
    assert back is not None
    assert to_plain(back[1]) == to_plain(result)
    assert type(back[1].fit) is type(result.fit)
