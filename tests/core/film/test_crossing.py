"""Crossing times and their uncertainty: coverage over random frame-time tables."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from wayside.errors import InputError
from wayside.film.crossing import crossing_between, crossing_interpolated
from wayside.film.geometry import Line, Point
from wayside.film.times import FrameTimes

N_FILMS = 500
LINE = Line.vertical(320.0, 100.0, 400.0)


def _table(seconds: np.ndarray) -> FrameTimes:
    ticks = np.round(np.sort(seconds) * 90_000).astype(np.int64)
    ticks = ticks[np.concatenate(([True], np.diff(ticks) > 0))]
    keys = np.zeros(len(ticks), dtype=bool)
    keys[0] = True
    return FrameTimes(ticks, Fraction(1, 90_000), keys)


def _random_table(rng: np.random.Generator) -> FrameTimes:
    """A phone's frame times: some rate, jitter, and dropped frames."""
    rate = rng.choice([24.0, 29.97, 30.0, 60.0, 120.0, 240.0])
    t = np.arange(int(3 * rate)) / rate + rng.normal(0, 0.1 / rate, int(3 * rate))
    return _table(t[rng.random(len(t)) > rng.choice([0.0, 0.1])])


def test_coverage_between_frames() -> None:
    """(t - truth)/u has unit variance and never exceeds sqrt 3 (rectangular, JCGM 100, 4.3.7)."""
    rng = np.random.default_rng(1)
    z = np.empty(N_FILMS)
    for k in range(N_FILMS):
        times = _random_table(rng)
        truth = rng.uniform(1.0, 2.0)
        before = times.last_at(truth)
        crossing = crossing_between(times, before, before + 1)
        z[k] = (crossing.time.value - truth) / crossing.time.u
        half = (crossing.after_s - crossing.before_s) / 2
        assert abs(crossing.time.value - truth) <= half + 1e-9
    assert math.sqrt((z**2).mean()) == pytest.approx(1.0, abs=0.1)
    assert abs(z.mean()) < 4 / math.sqrt(N_FILMS)
    assert np.abs(z).max() <= math.sqrt(3) + 1e-6
    assert (np.abs(z) < 1).mean() == pytest.approx(1 / math.sqrt(3), abs=0.07)


@pytest.mark.parametrize("tilt", [0.0, 60.0])
def test_coverage_of_interpolation(tilt: float) -> None:
    """With marks of known spread, (t - truth)/u is a unit normal variable."""
    rng = np.random.default_rng(2)
    line = Line(Point(320.0 - tilt, 100.0), Point(320.0 + tilt, 400.0))
    nx, ny = line.normal
    z = np.empty(N_FILMS)
    for k in range(N_FILMS):
        times = _random_table(rng)
        truth = rng.uniform(1.0, 2.0)
        before = times.last_at(truth)
        a, b = times.seconds[before], times.seconds[before + 1]
        speed = rng.uniform(15.0, 60.0) / (b - a)
        marks = []
        for t in (a, b):
            along = 150.0 + rng.normal(0, 20)
            d = speed * (t - truth) + rng.normal(0, 1.5)
            # A point at signed distance d, anywhere along the line.
            marks.append(
                Point(
                    line.start.x + along * -ny + d * nx,
                    line.start.y + along * nx + d * ny,
                )
            )
        try:
            crossing = crossing_interpolated(
                times, before, before + 1, line, (marks[0], marks[1]), mark_u_px=1.5
            )
        except InputError:
            # A mark fell on the wrong side by its own error; the frames still tell.
            crossing = crossing_between(times, before, before + 1)
        z[k] = (crossing.time.value - truth) / crossing.time.u
    assert math.sqrt((z**2).mean()) == pytest.approx(1.0, abs=0.12)
    assert (np.abs(z) < 1).mean() == pytest.approx(0.683, abs=0.06)
    assert (np.abs(z) < 2).mean() == pytest.approx(0.954, abs=0.03)


def test_interpolation_is_exact_for_exact_marks() -> None:
    times = _table(np.arange(10) / 10)
    marks = (Point(311.0, 300.0), Point(341.0, 250.0))
    crossing = crossing_interpolated(times, 3, 4, LINE, marks)
    assert crossing.method == "interpolated"
    assert crossing.time.value == pytest.approx(0.33, abs=1e-9)
    # By hand: 0.1 s * 1.5 px * sqrt(9^2 + 21^2) / 30^2.
    assert crossing.time.u == pytest.approx(0.1 * 1.5 * math.hypot(9, 21) / 900, rel=1e-3)
    mirrored = (Point(329.0, 300.0), Point(299.0, 250.0))
    assert crossing_interpolated(times, 3, 4, LINE, mirrored).time.value == pytest.approx(0.33)


def test_interpolation_never_claims_more_than_the_marks_allow() -> None:
    times = _table(np.arange(10) / 10)
    close = (Point(319.5, 0.0), Point(320.5, 0.0))
    crossing = crossing_interpolated(times, 3, 4, LINE, close)
    assert crossing.method == "between frames"
    assert crossing.time.u == pytest.approx(0.1 / math.sqrt(12), rel=1e-3)
    assert "too close" in crossing.note


def test_missing_frames_widen_the_uncertainty() -> None:
    t = np.arange(60) / 30
    times = _table(t[(t < 1.0) | (t > 1.2)])
    before = times.last_at(1.1)
    crossing = crossing_between(times, before, before + 1)
    assert crossing.time.u == pytest.approx((crossing.after_s - crossing.before_s) / math.sqrt(12))
    assert crossing.time.u > 0.05
    assert "missing" in crossing.note


@pytest.mark.parametrize(("before", "after"), [(4, 4), (5, 4), (-1, 3), (3, 10)])
def test_impossible_frames(before: int, after: int) -> None:
    with pytest.raises(InputError):
        crossing_between(_table(np.arange(10) / 10), before, after)


def test_marks_on_one_side() -> None:
    with pytest.raises(InputError, match="same side"):
        crossing_interpolated(
            _table(np.arange(10) / 10), 3, 4, LINE, (Point(300, 0), Point(310, 0))
        )


@pytest.mark.parametrize("text", ["1,2,3", "a,b,c,d", "", "1,2,3,4,5", "nan,1,2,3", "5,5,5,5"])
def test_lines_that_are_none(text: str) -> None:
    with pytest.raises(InputError):
        Line.parse(text)


def test_sides_of_a_line() -> None:
    line = Line.parse("320,100,320,400")
    assert line.distance_px(Point(300, 7)) == pytest.approx(-20)
    assert line.distance_px(Point(330, 900)) == pytest.approx(10)
