"""Crossing times from the film in the form: followed while nobody typed over them."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from wayside.film.geometry import Line
from wayside.film.info import FilmInfo
from wayside.film.marked import read_marks
from wayside.film.marks import FilmMarks, Marker, Sighting, Typed
from wayside.film.times import FrameTimes
from wayside.session.document import SessionError, read_session, write_session
from wayside.session.film_times import (
    FILM_CLOCK,
    FilmEntries,
    film_entries,
    followed,
    holds,
    is_free,
    takes_times,
    with_film_entries,
)
from wayside.session.hand_form import SOURCE_KIND, read_form
from wayside.session.session import Entry, MediaRef, Run, Session, session_of

TIMES = FrameTimes(
    np.arange(120, dtype=np.int64) * 3000, Fraction(1, 90_000), np.ones(120, dtype=bool)
)
INFO = FilmInfo("a.mp4", "h264", 1920, 1080, 0, TIMES, None)
METRES = Typed(unit="m")


def marker(x: float, frame: int, place: Typed = METRES) -> Marker:
    t = TIMES.seconds
    before, after = Sighting(float(t[frame])), Sighting(float(t[frame + 1]))
    return Marker(Line.vertical(x, 100, 900), before, after, place)


def told(marks: FilmMarks) -> FilmEntries | None:
    return film_entries(marks, read_marks(marks, INFO))


PAIR = FilmMarks((marker(400, 30), marker(1200, 60)))


def test_entries_say_time_and_uncertainty_to_the_digits_they_support() -> None:
    film = told(PAIR)
    assert film is not None
    first = film.entries["motion.first_time"]
    assert (first.text, first.unit, first.u_text) == ("1.0167", "s", "0.0096")
    assert "motion.marker_distance" not in film.entries
    assert not film.tools
    assert told(FilmMarks(PAIR.markers[:1])) is None


def test_a_typed_place_brings_the_distance_as_typed() -> None:
    film = told(FilmMarks((PAIR.markers[0], marker(1200, 60, Typed("20", "ft", "0.1")))))
    assert film is not None
    assert film.entries["motion.marker_distance"] == Entry("20", "ft", "0.1")


def test_first_is_who_was_crossed_first_whatever_the_order_of_placing() -> None:
    swapped = FilmMarks((marker(1200, 60), marker(400, 30, Typed("-6", "m", "0.02"))))
    film = told(swapped)
    assert film is not None
    assert film.entries["motion.first_time"].text.startswith("1.01")
    assert film.entries["motion.marker_distance"].text == "6.000"


def test_a_retimed_film_shares_its_clock_between_both_times() -> None:
    marks = replace(PAIR, true_fps="240")
    film = told(marks)
    assert film is not None
    assert dict(film.entries["motion.first_time"].extra)["tool"] == FILM_CLOCK
    form = with_film_entries(
        Session()
        .with_entry("motion.marker_distance", Entry("1", "m", "0.001"))
        .with_entry("source.count", Entry("92", ""))
        .with_entry("source.loaded_radius", Entry("32.6", "cm", "0.4"))
        .with_entry("air.temperature", Entry("20", "°C", "0.5")),
        film,
    )
    setup = read_form(form).setup
    assert setup is not None
    assert setup.tools[FILM_CLOCK].u == pytest.approx(0.1)
    seconds = setup.entries["motion.second_time"].best - setup.entries["motion.first_time"].best
    assert seconds == pytest.approx(30 / 240, abs=2e-4)


def test_a_blank_form_follows_and_keeps_following() -> None:
    start = Session()
    assert is_free(start)
    first = followed(start, None, start.with_film(PAIR), told(PAIR))
    assert holds(first, told(PAIR))
    moved = FilmMarks((PAIR.markers[0], marker(1200, 66)))
    second = followed(first, told(PAIR), first.with_film(moved), told(moved))
    assert holds(second, told(moved))


def test_what_was_typed_over_stays_until_asked_for() -> None:
    typed = Session().with_entry("motion.first_time", Entry("1.2", "s", "0.1"))
    kept = followed(typed, None, typed.with_film(PAIR), told(PAIR))
    assert kept.entry("motion.first_time").text == "1.2"
    assert kept.film == PAIR
    film = told(PAIR)
    assert film is not None
    asked = with_film_entries(kept, film)
    assert holds(asked, film)


def test_a_taped_distance_in_the_form_is_not_overwritten_by_a_place() -> None:
    taped = Session().with_entry("motion.marker_distance", Entry("6.1", "m", "0.02"))
    placed = FilmMarks((PAIR.markers[0], marker(1200, 60, Typed("5.9", "m", "0.1"))))
    kept = followed(taped, None, taped.with_film(placed), told(placed))
    assert holds(kept, told(placed))
    assert kept.entry("motion.marker_distance").text == "6.1"


def test_another_way_or_another_kind_of_source_is_left_alone() -> None:
    by_speed = Session().with_choice("motion.way", "speed")
    assert not is_free(by_speed)
    assert followed(by_speed, None, by_speed.with_film(PAIR), told(PAIR)).entries == {}
    whirled = Session().with_choice(SOURCE_KIND, "whirled")
    assert not takes_times(whirled)
    assert followed(whirled, None, whirled.with_film(PAIR), told(PAIR)).entries == {}


def test_marks_and_film_travel_with_the_session_file(tmp_path: Path) -> None:
    film = tmp_path / "films" / "yard.mp4"
    ref = MediaRef(str(film), 12)
    session = session_of(Run(media=ref, film=PAIR, film_file=ref))
    path = tmp_path / "a.wayside.json"
    write_session(session, path)
    assert json.loads(path.read_text())["runs"][0]["film_file"]["path"] == "films/yard.mp4"
    assert read_session(path) == session
    write_session(Session(), path)
    assert read_session(path) == Session()


def test_a_session_file_with_broken_marks_names_itself(tmp_path: Path) -> None:
    path = tmp_path / "a.wayside.json"
    write_session(Session().with_film(PAIR), path)
    data = json.loads(path.read_text())
    data["runs"][0]["film"]["markers"][0]["line_px"] = [1, 2, 3]
    path.write_text(json.dumps(data))
    with pytest.raises(SessionError, match=r"a.wayside.json cannot be opened.*4 numbers"):
        read_session(path)


def test_another_recording_takes_the_marks_away_unless_the_film_is_its_own() -> None:
    marked = Session().with_film(PAIR)
    assert marked.with_media(MediaRef("b.mp4")).film.markers == ()
    apart = Session().with_film_file(MediaRef("film.mp4")).with_film(PAIR)
    assert apart.with_media(MediaRef("b.wav")).film == PAIR
    assert apart.with_film_file(None).film.markers == ()
