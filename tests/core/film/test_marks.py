"""Marks in a film: what follows from them, what they wait for, and their way through JSON."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wayside.errors import InputError
from wayside.film.clock import UNKNOWN_LINK, ClockLink
from wayside.film.geometry import Line, Point
from wayside.film.heard import crossing_heard, distance_when
from wayside.film.info import FilmInfo
from wayside.film.marked import (
    distance_by_scale,
    first_and_last,
    read_marks,
    taped_distance,
    typed_quantity,
)
from wayside.film.marks import NO_MARKS, Clap, FilmMarks, Marker, Ruler, Sighting, Typed
from wayside.film.marks_json import marks_from_json, marks_to_json
from wayside.film.readout import READOUT_MOST_S, readout_u_s
from wayside.film.times import FrameTimes
from wayside.film.together import Heard, put_together, read_clap
from wayside.hand.units import Dimension
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

WIDTH, HEIGHT = 1920, 1080
METRES = Typed(unit="m")


def info_of(seconds: np.ndarray, width: int = WIDTH, height: int = HEIGHT) -> FilmInfo:
    ticks = np.round(seconds * 90_000).astype(np.int64)
    times = FrameTimes(ticks, Fraction(1, 90_000), np.ones(len(ticks), dtype=bool))
    return FilmInfo("a.mp4", "h264", width, height, 0, times, None)


EVEN = info_of(np.arange(90) / 30)


def marker_at(
    x: float, info: FilmInfo, frame: int, place: Typed = METRES, **more: object
) -> Marker:
    t = info.times.seconds
    return Marker(
        Line.vertical(x, 400, 900), Sighting(float(t[frame])), Sighting(float(t[frame + 1])),
        place, **more,
    )  # fmt: skip


def test_half_marked_markers_say_what_they_wait_for() -> None:
    marks = FilmMarks((Marker(Line.vertical(400, 0, 900)), marker_at(900, EVEN, 40)))
    half = replace(marks.markers[0], before=Sighting(float(EVEN.times.seconds[20])))
    reading = read_marks(marks.with_marker(0, half), EVEN)
    assert read_marks(marks, EVEN).markers[0].missing == ("before", "after")
    assert reading.markers[0].missing == ("after",)
    assert reading.markers[0].crossing is None
    assert reading.complete == (1,)
    assert reading.speed is None
    assert first_and_last(reading) is None


def test_between_frames_time_is_the_middle_of_a_rectangle() -> None:
    """u of a rectangle of full width w is w/sqrt(12) (JCGM 100:2008, 4.3.7)."""
    reading = read_marks(FilmMarks((marker_at(400, EVEN, 20),)), EVEN)
    crossing = reading.markers[0].crossing
    assert crossing is not None
    assert crossing.time.value == pytest.approx(20.5 / 30)
    assert crossing.time.u == pytest.approx(1 / 30 / math.sqrt(12), rel=1e-3)


def test_two_spots_interpolate_and_a_small_picture_makes_them_coarser() -> None:
    marker = marker_at(400, EVEN, 20)
    t = EVEN.times.seconds

    def reading(u_px: float) -> Quantity:
        spotted = replace(
            marker,
            before=Sighting(float(t[20]), Point(370, 800), u_px),
            after=Sighting(float(t[21]), Point(410, 800), u_px),
        )
        crossing = read_marks(FilmMarks((spotted,)), EVEN).markers[0].crossing
        assert crossing is not None
        return crossing.time

    assert reading(1.5).value == pytest.approx((20 + 30 / 40) / 30)
    assert reading(1.5).u < reading(4.0).u < 1 / 30 / math.sqrt(12)


def test_two_markers_take_the_taped_distance_and_three_need_their_places() -> None:
    pair = FilmMarks((marker_at(400, EVEN, 20), marker_at(1200, EVEN, 50)))
    tape = Quantity(6.0, 0.02, "m")
    assert read_marks(pair, EVEN).speed is None
    speed = read_marks(pair, EVEN, tape).speed
    assert speed is not None
    assert speed.speed.value == pytest.approx(6.0)
    assert taped_distance(read_marks(pair, EVEN, tape)) == tape
    three = pair.with_new(marker_at(1600, EVEN, 65))
    ends_only = read_marks(three, EVEN, tape)
    assert [m.place for m in ends_only.markers] == [Quantity(0.0, 0.0, "m"), None, tape]
    assert ends_only.speed is not None
    assert ends_only.speed.constancy is None
    backwards = replace(three, markers=(marker_at(1600, EVEN, 65), *three.markers[:2]))
    assert [m.place for m in read_marks(backwards, EVEN, tape).markers][1:] == [tape, None]
    between = replace(three, markers=(three.markers[1], three.markers[0], three.markers[2]))
    assert read_marks(between, EVEN, tape).speed is None
    placed = replace(
        three,
        markers=tuple(
            replace(m, place=Typed(text, "ft", "0.05"))
            for m, text in zip(three.markers, ("", "20", "30"), strict=True)
        ),
    )
    reading = read_marks(placed, EVEN, tape)
    assert reading.speed is not None
    assert reading.speed.constancy is not None
    assert len(reading.speed.segments) == 2
    far = taped_distance(reading)
    assert far is not None
    assert far.value == pytest.approx(30 * 0.3048)


def test_order_of_crossing_not_of_placing_decides_which_time_is_first() -> None:
    marks = FilmMarks((marker_at(1200, EVEN, 50), marker_at(400, EVEN, 20)))
    reading = read_marks(marks, EVEN, Quantity(6.0, 0.02, "m"))
    assert reading.complete == (1, 0)
    ends = first_and_last(reading)
    assert ends is not None
    assert ends[0].value == pytest.approx(20.5 / 30)
    assert reading.speed is not None
    assert reading.speed.speed.value == pytest.approx(6.0)


def test_a_slowed_film_gives_true_seconds() -> None:
    """Filmed at 240 a second, played at 30: film seconds are eight times too long."""
    marks = FilmMarks((marker_at(400, EVEN, 20), marker_at(1200, EVEN, 60)), true_fps="240")
    reading = read_marks(marks, EVEN, Quantity(1.0, 0.001, "m"))
    ends = first_and_last(reading)
    assert ends is not None
    assert reading.clock.factor == pytest.approx(8.0)
    assert ends[1].value - ends[0].value == pytest.approx(40 / 240)
    assert reading.speed is not None
    assert reading.speed.speed.value == pytest.approx(6.0)


@pytest.mark.parametrize("text", ["fast", "0", "1e9", "-30", "nan"])
def test_a_true_rate_that_makes_no_sense_is_said_and_not_used(text: str) -> None:
    marks = FilmMarks((marker_at(400, EVEN, 20),), true_fps=text)
    reading = read_marks(marks, EVEN)
    assert reading.clock.factor == 1.0
    assert reading.clock_fault.endswith(".")


def test_marks_of_another_film_are_not_used() -> None:
    other = info_of(np.arange(90) / 25 + 0.013)
    reading = read_marks(FilmMarks((marker_at(400, EVEN, 20),)), other)
    assert reading.markers[0].crossing is None
    assert "no frame at the marked time" in reading.markers[0].fault


def test_after_before_before_is_a_fault() -> None:
    marker = marker_at(400, EVEN, 20)
    turned = replace(marker, before=marker.after, after=marker.before)
    assert "must be later" in read_marks(FilmMarks((turned,)), EVEN).markers[0].fault


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (Typed("6", "m"), "after ±"),
        (Typed("six", "m", "0.1"), "not a number"),
        (Typed("6", "parsec", "0.1"), "not known"),
        (Typed("6", "m", "-1"), "negative"),
        (Typed("", "m", "1"), "no number"),
    ],
)
def test_typed_places_that_cannot_be_used(typed: Typed, words: str) -> None:
    with pytest.raises(InputError, match=words):
        typed_quantity(typed, Dimension.LENGTH, "the place")
    marks = FilmMarks((marker_at(400, EVEN, 20), marker_at(1200, EVEN, 50, typed)))
    reading = read_marks(marks, EVEN, Quantity(6, 0, "m"))
    assert words in reading.markers[1].place_fault
    assert reading.speed is None


def test_upright_films_widen_the_speed_by_what_a_row_by_row_readout_does() -> None:
    """Simulated: readout anywhere in ±30 ms over the width, against the stated uncertainty."""
    rng = np.random.default_rng(7)
    upright = info_of(np.arange(900) / 240, 1080, 1920)
    t = upright.times.seconds
    z = []
    for _ in range(500):
        delay = rng.uniform(-READOUT_MOST_S, READOUT_MOST_S)
        start = rng.uniform(0.5, 1.0)
        markers = []
        for x, place in ((200.0, 0.0), (900.0, 6.0)):
            seen = start + place / 6.0 + delay * x / 1080
            frame = int(np.searchsorted(t, seen)) - 1
            markers.append(marker_at(x, upright, frame))
        reading = read_marks(FilmMarks(tuple(markers)), upright, Quantity(6.0, 0.001, "m"))
        ends = first_and_last(reading)
        assert ends is not None
        spread = math.hypot(ends[0].u, ends[1].u)
        z.append((ends[1].value - ends[0].value - 1.0) / spread)
        assert reading.speed is not None
        assert reading.speed.speed.relative_u == pytest.approx(
            spread / (ends[1].value - ends[0].value), rel=0.02
        )
    assert math.sqrt((np.array(z) ** 2).mean()) == pytest.approx(1.0, abs=0.1)
    assert readout_u_s(200, 900, WIDTH, HEIGHT) == 0.0


def test_scale_gives_the_distance_of_the_feet() -> None:
    marks = FilmMarks(
        (Marker(Line(Point(300, 100), Point(310, 900))), Marker(Line.vertical(910, 900, 100))),
        ruler=Ruler(Point(100, 950), Point(500, 950), Typed("200", "cm", "1")),
    )
    scale = read_marks(marks, EVEN).scale
    assert scale is not None
    distances = distance_by_scale(marks, scale)
    assert distances[0].value == 0.0
    assert distances[1].value == pytest.approx(600 * 2.0 / 400)
    assert distances[1].u > 0.005 * distances[1].value
    bad = replace(marks, ruler=replace(marks.ruler, length=Typed("0", "m", "0.1")))
    assert "above 0" in read_marks(bad, EVEN).scale_fault


def test_a_crossing_is_heard_after_its_sound_has_come_the_whole_way() -> None:
    """Against the exact retarded time of `wayside.physics.passby` for a source of known path."""
    p = PassBy(400.0, 8.0, 3.0, 2.0, 340.0)
    exact = ClockLink(Quantity(0.0, 0.0, "s"), "")
    told = [Quantity(v, 0.0, u) for v, u in ((2.0, "s"), (8.0, "m/s"), (3.0, "m"), (340.0, "m/s"))]
    for t in (1.2, 2.0, 3.1):
        heard = crossing_heard(Quantity(t, 0.0, "s"), *told, exact)
        assert heard.value == pytest.approx(float(p.arrival_time(t)), abs=1e-12)
        assert heard.u == 0.0


def test_distance_at_a_crossing_covers_errors_of_the_fit() -> None:
    rng = np.random.default_rng(2)
    exact = ClockLink(Quantity(0.0, 0.01, "s"), "")
    truth = PassBy(400.0, 8.0, 3.0, 2.0, 340.0)
    z = []
    for _ in range(800):
        seen = Quantity(1.4 + rng.normal(0, 0.01), 0.01, "s")
        found = distance_when(
            seen,
            Quantity(2.0 + rng.normal(0, 0.02) + rng.normal(0, 0.01), 0.02, "s"),
            Quantity(8.0 + rng.normal(0, 0.1), 0.1, "m/s"),
            Quantity(3.0 + rng.normal(0, 0.1), 0.1, "m"),
            exact,
        )
        z.append((found.value - float(truth.distance(1.4))) / found.u)
    assert math.sqrt((np.array(z) ** 2).mean()) == pytest.approx(1.0, abs=0.1)


_texts = st.text(max_size=12)
_numbers = st.floats(-1e6, 1e6)
_points = st.builds(Point, _numbers, _numbers)
_typed = st.builds(Typed, _texts, _texts, _texts)
_lines = st.builds(
    lambda p, dx, dy: Line(p, Point(p.x + dx, p.y + dy)),
    _points,
    st.floats(3, 1e5),
    st.floats(-1e5, 1e5),
)
_sightings = st.none() | st.builds(Sighting, _numbers, st.none() | _points, st.floats(0.1, 1e3))
_markers = st.builds(Marker, _lines, _sightings, _sightings, _typed, st.booleans(), st.just(1.0))
_marks = st.builds(
    FilmMarks,
    st.lists(_markers, max_size=3).map(tuple),
    _texts,
    _texts,
    st.builds(Clap, st.none() | _numbers, st.none() | _numbers, _typed, _typed),
    st.none() | st.builds(Ruler, _points, _points, _typed),
)


@settings(max_examples=75, deadline=None)
@given(_marks)
def test_marks_come_back_from_json_as_they_were(marks: FilmMarks) -> None:
    back = marks_from_json(json.loads(json.dumps(marks_to_json(marks))))
    if marks.clap.blank:
        marks = replace(marks, clap=Clap())
    assert back == marks


@settings(max_examples=100, deadline=None)
@given(_marks)
def test_any_marks_can_be_read_without_an_unexpected_error(marks: FilmMarks) -> None:
    reading = read_marks(marks, EVEN, Quantity(3.0, 0.01, "m"))
    for marker in reading.markers:
        assert marker.crossing is None or marker.crossing.time.u > 0


@pytest.mark.parametrize(
    "data",
    [
        [],
        {"markers": 3},
        {"markers": [{}]},
        {"markers": [{"line_px": [1, 2, 3, "4"]}]},
        {"markers": [{"line_px": [1, 2, 1, 2]}]},
        {"markers": [{"line_px": [1, 2, 1, 10**400]}]},
        {"markers": [{"line_px": [1, 2, 3, 9], "before": {"time_s": None}}]},
        {"markers": [{"line_px": [1, 2, 3, 9], "line_u_px": 0}]},
        {"markers": [{"line_px": [1, 2, 3, 9], "at_camera": "yes"}]},
        {"watched": 7},
        {"clap": 7},
        {"clap": {"before_s": "x"}},
        {"ruler": {"ends_px": [1]}},
        {"true_fps": "9" * 2000},
    ],
)
def test_broken_json_is_one_sentence(data: object) -> None:
    with pytest.raises(InputError) as caught:
        marks_from_json(data)
    assert str(caught.value).endswith(".")


def test_nothing_marked_reads_as_nothing() -> None:
    assert marks_from_json({}) == NO_MARKS
    assert NO_MARKS.blank
    assert not replace(NO_MARKS, true_fps="240").blank


SPEED_OF_SOUND = Quantity(340.0, 0.5, "m/s")
HEARD = Heard(Quantity(1.51, 0.02, "s"), Quantity(6.0, 0.1, "m/s"), Quantity(2.0, 0.05, "m"))


def test_film_and_sound_on_one_clock() -> None:
    """A marker at the camera, crossed between frames 45 and 46; the sound says 1.51 s."""
    marks = FilmMarks(
        (marker_at(400, EVEN, 20), marker_at(960, EVEN, 45, at_camera=True)),
        clap=Clap(),
    )
    reading = read_marks(marks, EVEN)
    told = put_together(marks, reading, EVEN.times, HEARD, SPEED_OF_SOUND)
    assert told.link is UNKNOWN_LINK
    assert told.passing_seen is not None
    assert told.passing_seen.value == pytest.approx(1.51)
    assert told.passing_seen.u == pytest.approx(math.hypot(0.02, UNKNOWN_LINK.offset.u))
    assert told.check is not None
    assert told.check.difference.value == pytest.approx(45.5 / 30 - 1.51, abs=1e-4)
    assert abs(told.check.normalized_error) < 1
    assert told.heard[1] is not None
    assert told.heard[1].value == pytest.approx(45.5 / 30 + 2.0 / 340, abs=1e-4)
    far = math.hypot(2.0, 6.0 * (20.5 / 30 - 1.51))
    assert told.heard[0] is not None
    assert told.heard[0].value == pytest.approx(20.5 / 30 + far / 340, abs=1e-4)


def test_a_clap_sharpens_the_check_and_finds_a_disagreement() -> None:
    t = EVEN.times.seconds
    clap = Clap(float(t[10]), float(t[11]), Typed("0.36", "s", "0.005"), Typed("3.4", "m", "0.1"))
    marks = FilmMarks((marker_at(960, EVEN, 55, at_camera=True),), clap=clap)
    reading = read_marks(marks, EVEN)
    told = put_together(marks, reading, EVEN.times, HEARD, SPEED_OF_SOUND)
    assert told.clap_fault == ""
    assert told.link.offset.value == pytest.approx(0.36 - 10.5 / 30 - 0.01, abs=1e-3)
    assert told.link.offset.u < 0.012
    assert told.check is not None
    assert "later" in told.check.sentence
    assert told.check.normalized_error > 1


@pytest.mark.parametrize(
    ("clap", "words"),
    [
        (Clap(before_s=0.3), "two frames"),
        (Clap(heard=Typed("1", "s", "0.1")), "two frames"),
        (Clap(0.3, 0.4), "when the clap is heard"),
        (Clap(0.3, 0.4, Typed("1", "s"), Typed("1", "m", "0.1")), "after ±"),
        (Clap(0.3, 0.4, Typed("1", "s", "0.1"), Typed("-1", "m", "0.1")), "distance of 0 m"),
        (Clap(0.4, 0.3, Typed("1", "s", "0.1"), Typed("1", "m", "0.1")), "together before"),
        (
            Clap(0.31, 0.42, Typed("1", "s", "0.1"), Typed("1", "m", "0.1")),
            "no frame at the marked time",
        ),
    ],
)
def test_a_clap_that_cannot_be_used_leaves_the_clock_open(clap: Clap, words: str) -> None:
    link, fault = read_clap(clap, SPEED_OF_SOUND, EVEN.times)
    assert link is UNKNOWN_LINK
    assert words in fault


def test_a_slowed_film_shares_no_clock_with_its_sound() -> None:
    marks = FilmMarks((marker_at(960, EVEN, 45, at_camera=True),), true_fps="240")
    told = put_together(marks, read_marks(marks, EVEN), EVEN.times, HEARD, SPEED_OF_SOUND)
    assert told.passing_seen is None
    assert told.check is None
    assert "natural speed" in told.link.basis


def test_two_recordings_share_no_clock_before_a_clap() -> None:
    t = EVEN.times.seconds
    marks = FilmMarks((marker_at(960, EVEN, 45, at_camera=True),))
    reading = read_marks(marks, EVEN)
    told = put_together(marks, reading, EVEN.times, HEARD, SPEED_OF_SOUND, apart=True)
    assert told.passing_seen is None
    assert told.check is None
    assert told.heard == (None,)
    clap = Clap(float(t[10]), float(t[11]), Typed("5.36", "s", "0.005"), Typed("3.4", "m", "0.1"))
    late = replace(HEARD, passing=Quantity(6.51, 0.02, "s"))
    marks = replace(marks, clap=clap)
    told = put_together(marks, reading, EVEN.times, late, SPEED_OF_SOUND, apart=True)
    assert told.link.offset.value == pytest.approx(5.0, abs=1e-3)
    assert told.check is not None
    assert abs(told.check.normalized_error) < 1


def test_without_a_fit_only_a_marker_at_the_camera_has_a_known_way() -> None:
    marks = FilmMarks((marker_at(400, EVEN, 20), marker_at(960, EVEN, 45, at_camera=True)))
    reading = read_marks(marks, EVEN)
    tape = Quantity(3.4, 0.02, "m")
    told = put_together(marks, reading, EVEN.times, None, SPEED_OF_SOUND, tape)
    assert told.heard[0] is None
    assert told.heard[1] is not None
    assert told.heard[1].value == pytest.approx(45.5 / 30 + 0.01, abs=1e-4)
    assert told.check is None
