"""Proposed crossings against films made with known crossing times."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from wayside.errors import Cancelled, InputError
from wayside.film.film import open_film
from wayside.film.geometry import Line, Point
from wayside.film.proposals import ProposalList, propose_crossings
from wayside.jobs import Job

Make = Callable[..., Path]
# Short upright lines at the height of the disc's foremost point (row 110).
LINES = [Line.vertical(x, 102.0, 118.0) for x in (90.0, 160.0, 250.0)]


def _proposals(path: Path, lines: list[Line], **options: object) -> list[ProposalList]:
    with open_film(path) as film:
        return propose_crossings(film, lines, **options)


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("constant", {}),
        ("jittered", {}),
        ("jittered", {"turns": 1}),
        ("jittered", {"turns": 2, "b_frames": 3}),
        ("jittered", {"sound": (0.3, 2.0)}),
        ("jittered", {"codec": "libx265"}),
        ("gap", {"b_frames": 2}),
    ],
)
@pytest.mark.parametrize("acceleration", [0.0, -35.0])
def test_every_crossing_within_half_a_frame(
    tmp_path: Path,
    make_film: Make,
    make_times,
    drive,
    kind: str,
    options: dict,
    acceleration: float,
) -> None:
    way = drive(speed_px_s=170.0, acceleration_px_s2=acceleration)
    path = make_film(tmp_path / "a.mp4", way, make_times(kind, 2.5), **options)
    for line, found in zip(LINES, _proposals(path, LINES), strict=True):
        best = found.best
        assert best is not None
        truth = way.crossing_s(line.start.x)
        crossing = best.crossing
        half = (crossing.after_s - crossing.before_s) / 2
        # A soft edge of one pixel at 4 px a frame may tip the choice by a quarter of a frame.
        assert abs(crossing.time.value - truth) <= half + 1.0 / way.speed_px_s
        # Across a hole in the film the disc is suddenly on both sides of the line.
        assert best.direction == 1 or (kind == "gap" and half > 0.1)
        assert best.after == best.before + 1


@pytest.mark.parametrize("seed", range(6))
def test_a_hollow_wheel_that_jumps_the_line(
    tmp_path: Path, make_film: Make, make_times, drive, seed: int
) -> None:
    """A rim of 4 pixels at 17 to 22 pixels a frame is seldom on the line itself."""
    way = drive(start_px=-200.0 - 7 * seed, speed_px_s=500.0 + 30 * seed, rim_px=4.0)
    path = make_film(tmp_path / "a.mp4", way, make_times("jittered", 2.0, seed=seed))
    (found,) = _proposals(path, [LINES[1]])
    assert found.best is not None
    crossing = found.best.crossing
    half = (crossing.after_s - crossing.before_s) / 2
    assert abs(crossing.time.value - way.crossing_s(160.0)) <= half + 1.0 / way.speed_px_s
    assert found.best.direction == 1


def test_a_tilted_line(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    """The disc, radius R, first touches a line tilted by a when its centre is R from it."""
    way = drive(speed_px_s=150.0)
    path = make_film(tmp_path / "a.mp4", way, make_times("jittered", 2.5))
    line = Line(Point(140.0, 60.0), Point(180.0, 160.0))
    (found,) = _proposals(path, [line])
    assert found.best is not None
    # Centre at front - 24 on row 110; solve distance = -24 for the front.
    nx, _ = line.normal
    touch_front = line.start.x + (110 - line.start.y) * 40 / 100 - 24.0 / nx + 24.0
    truth = way.crossing_s(touch_front)
    crossing = found.best.crossing
    # A tangent touch is noticed once three points of the line are covered: up to 0.4 px later.
    half = (crossing.after_s - crossing.before_s) / 2
    assert abs(crossing.time.value - truth) <= half + 1.5 / 150.0


def test_the_other_way(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    # The rightmost point now trails: it is the rear that leaves the line.
    way = drive(start_px=360.0, speed_px_s=-160.0)
    path = make_film(tmp_path / "a.mp4", way, make_times("jittered", 2.5))
    (found,) = _proposals(path, [LINES[1]])
    rear = [p for p in found.proposals if p.edge == "rear"]
    assert len(rear) == 1
    assert rear[0].direction == -1
    crossing = rear[0].crossing
    half = (crossing.after_s - crossing.before_s) / 2
    assert abs(crossing.time.value - way.crossing_s(160.0)) <= half + 1.0 / 160.0


def test_nothing_passes(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    path = make_film(tmp_path / "a.mp4", drive(speed_px_s=0.001), make_times("constant", 1.5))
    (found,) = _proposals(path, [LINES[1]])
    assert found.best is None
    assert "by eye" in found.note


def test_a_shaking_camera_gets_no_proposal(
    tmp_path: Path, make_film: Make, make_times, drive
) -> None:
    path = make_film(tmp_path / "a.mp4", drive(shake_px=30.0), make_times("constant", 1.5))
    (found,) = _proposals(path, [LINES[1]])
    assert found.best is None
    assert "restless" in found.note


def test_many_long_lines_at_once(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    way = drive(speed_px_s=170.0)
    path = make_film(tmp_path / "a.mp4", way, make_times("jittered", 2.5))
    lines = [Line.vertical(float(x), 21.0, 179.0) for x in range(60, 300, 20)]
    for line, found in zip(lines, _proposals(path, lines), strict=True):
        assert found.best is not None
        assert found.best.crossing.time.value == pytest.approx(
            way.crossing_s(line.start.x), abs=0.035
        )


def test_only_the_stretch_asked_for(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    way = drive(speed_px_s=170.0)
    path = make_film(tmp_path / "a.mp4", way, make_times("jittered", 2.5))
    with open_film(path) as film:
        span = film.times.span(0.9, 1.4)
        (found,) = propose_crossings(film, [LINES[1]], span=span)
        assert found.best is not None
        assert found.best.crossing.time.value == pytest.approx(way.crossing_s(160.0), abs=0.03)
        (found,) = propose_crossings(film, [LINES[1]], span=film.times.span(0.0, 0.8))
        assert found.best is None


def test_a_line_outside_the_picture(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    path = make_film(tmp_path / "a.mp4", drive(), make_times("constant", 0.5))
    with pytest.raises(InputError, match="leaves the picture"):
        _proposals(path, [Line.vertical(400.0, 10.0, 50.0)])


def test_cancel(tmp_path: Path, make_film: Make, make_times, drive) -> None:
    path = make_film(tmp_path / "a.mp4", drive(), make_times("constant", 1.0))
    with pytest.raises(Cancelled):
        _proposals(path, [LINES[0]], job=Job(cancelled=lambda: True))
