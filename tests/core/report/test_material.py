"""Material from files and from sessions: complete, or one sentence on what is missing."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from wayside.errors import Cancelled, InputError
from wayside.hand.setup_file import read_setup
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.report.blocks import Para, Table
from wayside.report.from_session import gather_session
from wayside.report.make import make_html, make_report
from wayside.report.material import Bundle, Made, gather, versions
from wayside.review.row import FAILED, MEASURED
from wayside.session.hand_form import fill_form, read_form
from wayside.session.kept import kept_from_json, kept_to_json, stamp
from wayside.session.media import fingerprint
from wayside.session.run import MediaRef, Run
from wayside.session.session import Session
from wayside.session.told import measure_options
from wayside.simulate.bundle import make_bundle


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bundled sample with its set-up, and noise without any pass-by."""
    place = tmp_path_factory.mktemp("sample")
    make_bundle("courtyard-buzzer", place)
    noise = np.random.default_rng(5).normal(0.0, 0.1, 24_000)
    soundfile.write(str(place / "noise.wav"), noise, 16_000, subtype="PCM_16")
    return place


def session_of(folder: Path) -> Session:
    """Three runs: the sample, the sample again in a group, and one whose file is gone."""
    hand = fill_form(read_setup(folder / "courtyard-buzzer.setup.json")).run
    media = fingerprint(folder / "courtyard-buzzer.flac")
    gone = MediaRef(str(folder / "gone.flac"), 10, "ab" * 32)
    return Session(
        runs=(
            replace(hand, media=media, key=1),
            replace(hand, media=media, name="again", group="B", direction="back", key=2),
            Run(media=gone, name="lost", key=3),
        )
    )


def test_a_recording_with_its_set_up_is_compared(folder: Path) -> None:
    setup = read_setup(folder / "courtyard-buzzer.setup.json")
    m = gather(folder / "courtyard-buzzer.flac", setup)
    assert m.comparison is not None
    assert m.comparison.overall == "agree"
    assert m.media == fingerprint(folder / "courtyard-buzzer.flac")
    # the film frames of the set-up: 2.78 s and 3.42 s
    assert [round(t, 2) for t, _ in m.crossings] == [2.78, 3.42]
    # the sample is rendered at a constant speed
    assert m.constant_speed is not None
    assert m.constant_speed.agrees
    assert m.constant_speed.sentence in make_html(Bundle(m)).decode()
    assert m.frames is None


def test_a_recording_without_pass_by_is_reported_as_such(folder: Path) -> None:
    m = gather(folder / "noise.wav", None)
    report = make_report(Bundle(m))
    first = report.sections[0].blocks[0]
    assert isinstance(first, Para)
    assert first.text.startswith("No pass-by found")


def test_a_prediction_alone_is_a_report_too(folder: Path) -> None:
    m = gather(None, read_setup(folder / "courtyard-buzzer.setup.json"))
    assert m.recording is None
    for student in (False, True):
        keys = [s.key for s in make_report(Bundle(m), student).sections]
        assert "by-sound" not in keys
    with pytest.raises(InputError, match="nothing to report on"):
        gather(None, None)


def test_a_session_gives_the_shown_run_in_full_and_all_as_rows(folder: Path) -> None:
    bundle = gather_session(session_of(folder), folder, Made("c", versions()))
    assert bundle.run.comparison is not None
    assert [(r.name, r.outcome, r.group) for r in bundle.rows] == [
        ("courtyard-buzzer", MEASURED, ""),
        ("again", MEASURED, "B"),
        ("lost", FAILED, ""),
    ]
    assert "gone.flac is no longer where it was" in bundle.rows[2].sentence
    one, two = (r.speed_mps.measured for r in bundle.rows[:2])
    assert one == two
    report = make_report(bundle)
    (section,) = (s for s in report.sections if s.key == "class")
    table = section.blocks[0]
    assert isinstance(table, Table)
    assert [row[0] for row in table.rows] == ["courtyard-buzzer", "again", "lost"]


def test_results_kept_in_the_file_are_not_measured_anew(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = session_of(folder)
    media = session.runs[0].media
    options = measure_options(session, read_form(session))
    first = gather_session(session, folder, Made())
    assert first.run.measurement is not None
    kept = {stamp(media, options): first.run.measurement}
    # as in a file that was written and read again
    kept = dict(
        pair
        for pair in (kept_from_json(json.loads(json.dumps(kept_to_json(*k)))) for k in kept.items())
        if pair is not None
    )

    def never(*args: object) -> None:
        raise AssertionError("measured anew")

    monkeypatch.setattr("wayside.report.from_session.measure", never)
    second = gather_session(session, folder, Made(), results=kept)
    assert second.rows == first.rows
    assert make_html(second) == make_html(first)


def test_another_run_can_be_chosen_by_name(folder: Path) -> None:
    with pytest.raises(InputError, match="No run is called “none”; there are courtyard-buzzer"):
        gather_session(session_of(folder), folder, Made(), "none")
    with pytest.raises(InputError, match=r"gone\.flac is no longer where it was"):
        gather_session(session_of(folder), folder, Made(), "lost")


def test_a_recording_with_other_content_is_not_taken_for_the_right_one(
    folder: Path, tmp_path: Path
) -> None:
    shutil.copy(folder / "noise.wav", tmp_path / "courtyard-buzzer.flac")
    session = session_of(folder)
    media = replace(
        session.runs[0].media or MediaRef(""), path=str(tmp_path / "courtyard-buzzer.flac")
    )
    only = Session(runs=(replace(session.runs[0], media=media),))
    with pytest.raises(InputError, match="its content differs"):
        gather_session(only, tmp_path, Made())


def test_an_unfinished_form_says_what_it_needs(folder: Path) -> None:
    media = fingerprint(folder / "courtyard-buzzer.flac")
    bundle = gather_session(Session(runs=(Run(media=media),)), folder, Made())
    assert bundle.run.setup is None
    assert "still needed: distance between the markers" in bundle.run.remark
    with pytest.raises(InputError, match="neither a recording nor complete hand measurements"):
        gather_session(Session(), folder, Made())


def test_it_can_be_stopped(folder: Path) -> None:
    setup = read_setup(folder / "courtyard-buzzer.setup.json")
    seen: list[float] = []
    job = Job(report=lambda f, m: seen.append(f), cancelled=lambda: bool(seen) and seen[-1] > 0.4)
    with pytest.raises(Cancelled):
        gather(folder / "courtyard-buzzer.flac", setup, job=job)
    assert seen == sorted(seen)


def test_a_distance_that_was_put_in_is_not_shown_as_heard(folder: Path) -> None:
    setup = read_setup(folder / "courtyard-buzzer.setup.json")
    m = gather(folder / "courtyard-buzzer.flac", setup)
    assert m.closest_used
    page = make_html(Bundle(m)).decode()
    assert "The taped distance to the track went into the fit." in page
    assert "By sound it stands" not in page
    free = replace(m, options=replace(m.options or MeasureOptions(), closest=None))
    assert "By sound it stands" in make_html(Bundle(free)).decode()
