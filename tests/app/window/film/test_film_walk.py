"""From an open film to times in the form, with real keys and a real mouse."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot
from tests.app.window.film.hands import (
    POSTS,
    Film,
    crossing_truth,
    mark_crossing,
    open_film,
    wait_for_picture,
)
from tests.app.window.hands import drag, retype, wheel

from wayside.film.geometry import Point
from wayside_app.window.film.moving import FOOT, TOP

LEFT = Qt.MouseButton.LeftButton
SHIFT = Qt.KeyboardModifier.ShiftModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier


def lay_lines(qtbot: QtBot, film: Film) -> None:
    """Double-click both posts' feet, then drag each line's top down to a fair height."""
    for k, (foot, top) in enumerate(POSTS):
        qtbot.mouseDClick(film.panel.view, LEFT, pos=film.at(foot))
        line = film.panel.desk.marks.markers[k].line
        drag(film.panel.view, film.at(line.start), film.at(top))


def mark_both(qtbot: QtBot, film: Film) -> None:
    """Mark both crossings with the keyboard, where the axle passes the posts."""
    lay_lines(qtbot, film)
    for k in range(2):
        film.key(qtbot, Qt.Key(Qt.Key.Key_1 + k))
        mark_crossing(qtbot, film, film.index_of(crossing_truth(k)["frame_before_time_s"]))


def test_the_teacher_times_both_crossings_and_the_form_has_them(qtbot: QtBot, film: Film) -> None:
    """Against the film's own truth: each time within half a frame, and the u as stated."""
    open_film(qtbot, film)
    mark_both(qtbot, film)
    reading = film.panel.desk.reading
    assert reading is not None
    step = 1 / 30
    for k in range(2):
        crossing = reading.markers[k].crossing
        assert crossing is not None
        assert abs(crossing.time.value - crossing_truth(k)["time_s"]) <= step / 2
        gap = crossing.after_s - crossing.before_s
        assert crossing.time.u == pytest.approx(gap / math.sqrt(12), rel=1e-3)
        assert film.panel.side.cards[k].time.text().endswith(" s")
    session = film.bench.session
    for k, path in enumerate(("motion.first_time", "motion.second_time")):
        typed = session.entry(path)
        assert abs(float(typed.text) - crossing_truth(k)["time_s"]) <= step / 2
        assert float(typed.u_text) == pytest.approx(step / math.sqrt(12), rel=0.2)
    assert film.panel.findings.in_form.isVisible()
    assert not film.panel.findings.into_form.isVisible()


def test_undo_takes_each_mark_back_by_name_and_the_form_with_it(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    mark_both(qtbot, film)
    stack = film.bench.undo_stack
    assert stack.undoText() == "mark the frame after marker 2"
    stack.undo()
    assert film.panel.desk.marks.markers[1].after is None
    assert film.bench.session.entry("motion.first_time").blank
    assert "first frame after" in film.panel.side.cards[1].method.text()
    while stack.canUndo() and "marker" in stack.undoText():
        stack.undo()
    assert film.bench.session.film.markers == ()
    assert film.panel.side.cards == []
    while stack.canRedo():
        stack.redo()
    assert not film.bench.session.entry("motion.second_time").blank


def test_speed_follows_from_a_typed_place(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    mark_both(qtbot, film)
    assert film.panel.findings.speed.text().startswith("For the speed")
    place = film.panel.side.cards[1].place
    retype(qtbot, place.value, "2.4")
    assert "±" in place.fault.text()
    retype(qtbot, place.u, "0.01")
    assert not place.fault.isVisible()
    speed = film.panel.desk.reading.speed
    assert speed is not None
    # 2.4 m between posts and 5.8 m/s slowing by 0.03 m/s² in the film's truth
    assert abs(speed.speed.value - 5.8) < 2 * speed.speed.u
    assert film.panel.findings.speed.text().startswith("Speed by film: 5.")
    assert film.bench.session.entry("motion.marker_distance").text == "2.4"


def test_what_was_typed_into_the_form_stays_until_the_button_is_pressed(
    qtbot: QtBot, film: Film
) -> None:
    from wayside.session.session import Entry

    open_film(qtbot, film)
    film.bench.type_entry("motion.first_time", Entry("1.9", "s", "0.1"), "time")
    mark_both(qtbot, film)
    assert film.bench.session.entry("motion.first_time").text == "1.9"
    button = film.panel.findings.into_form
    assert button.isVisible()
    qtbot.mouseClick(button, LEFT)
    assert film.bench.session.entry("motion.first_time").text.startswith("2.38")
    assert film.bench.undo_stack.undoText() == "take the times from the film"
    assert not button.isVisible()


def test_keys_step_by_frame_and_second_and_to_the_ends(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    desk, times = film.panel.desk, film.panel.source.film.times
    film.key(qtbot, Qt.Key.Key_Right)
    assert desk.index == 1
    film.key(qtbot, Qt.Key.Key_Left)
    film.key(qtbot, Qt.Key.Key_Left)
    assert desk.index == 0, "stops at the first frame"
    film.key(qtbot, Qt.Key.Key_Right, CTRL)
    assert desk.index == times.nearest(1.0)
    film.key(qtbot, Qt.Key.Key_PageDown)
    assert desk.time_s == pytest.approx(2.0, abs=1 / 30)
    film.key(qtbot, Qt.Key.Key_PageUp)
    assert desk.time_s == pytest.approx(1.0, abs=1 / 30)
    film.key(qtbot, Qt.Key.Key_End)
    assert desk.index == len(times) - 1
    wait_for_picture(qtbot, film)
    film.key(qtbot, Qt.Key.Key_Home)
    assert desk.index == 0
    assert film.panel.transport.time.value() == pytest.approx(0.0)
    assert film.panel.band.value() == 0


def test_dragging_along_the_band_and_typing_a_time_move_through_the_film(
    qtbot: QtBot, film: Film
) -> None:
    open_film(qtbot, film)
    band, desk, transport = film.panel.band, film.panel.desk, film.panel.transport
    middle = band.height() // 2
    drag(band, QPoint(round(band.x_of(0.5)), middle), QPoint(round(band.x_of(3.0)), middle))
    assert desk.time_s == pytest.approx(3.0, abs=1 / 30)
    wait_for_picture(qtbot, film)
    assert film.panel.view.shown.time_s == desk.time_s
    retype(qtbot, transport.time.lineEdit(), "2.4")
    assert desk.index == film.panel.source.film.times.last_at(2.4)
    qtbot.mouseClick(transport.buttons["+f"], LEFT)
    assert desk.index == film.panel.source.film.times.last_at(2.4) + 1
    wheel(band, -1)
    assert desk.index == film.panel.source.film.times.last_at(2.4) + 2


def test_wheel_marks_in_both_frames_interpolate_within_the_frame(qtbot: QtBot, film: Film) -> None:
    """The axle's place in each frame from the film's truth of motion: 142 px a metre."""
    open_film(qtbot, film)
    mark_both(qtbot, film)
    desk, view = film.panel.desk, film.panel.view
    plain = desk.reading.markers[1].crossing
    marker = desk.marks.markers[1]
    truth = crossing_truth(1)
    foot = POSTS[1][0]
    for time_s in (marker.before.time_s, marker.after.time_s):
        desk.go_to(film.index_of(time_s))
        wait_for_picture(qtbot, film)
        film.key(qtbot, Qt.Key.Key_W)
        assert desk.pending is not None
        axle = Point(foot.x + 142.1 * 5.79 * (time_s - truth["time_s"]), 165.0)
        drag(view, film.at(desk.pending), film.at(axle))
        assert desk.pending is None
    crossing = desk.reading.markers[1].crossing
    assert crossing.method == "interpolated"
    assert crossing.time.u < 0.6 * plain.time.u
    assert abs(crossing.time.value - truth["time_s"]) < 2.5 * crossing.time.u
    assert "interpolated" in film.panel.side.cards[1].method.text()
    assert film.bench.undo_stack.undoText() == "mark the wheel at marker 2"


def test_the_wheel_can_be_marked_by_key_and_let_go_of(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    lay_lines(qtbot, film)
    desk = film.panel.desk
    film.key(qtbot, Qt.Key.Key_W)
    assert desk.pending is None
    assert "first" in film.panel.side.hint.text()
    film.key(qtbot, Qt.Key.Key_B)
    film.key(qtbot, Qt.Key.Key_W)
    start = desk.pending
    film.key(qtbot, Qt.Key.Key_Left, SHIFT | CTRL)
    film.key(qtbot, Qt.Key.Key_Up, SHIFT)
    film.key(qtbot, Qt.Key.Key_Return)
    spot = desk.marks.markers[1].before.spot
    assert (spot.x - start.x, spot.y - start.y) == pytest.approx((-10, -1), abs=0.01)
    film.key(qtbot, Qt.Key.Key_W)
    film.key(qtbot, Qt.Key.Key_Right, SHIFT)
    film.key(qtbot, Qt.Key.Key_Escape)
    assert desk.pending is None
    assert desk.marks.markers[1].before.spot == spot


def test_lines_are_picked_moved_tilted_and_removed_by_key(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_N)
    film.key(qtbot, Qt.Key.Key_N)
    desk = film.panel.desk
    before = desk.marks.markers[0].line
    film.key(qtbot, Qt.Key.Key_1)
    count = film.bench.undo_stack.count()
    for _ in range(3):
        film.key(qtbot, Qt.Key.Key_Right, SHIFT)
    assert film.bench.undo_stack.count() == count + 1, "neighbouring nudges are one step"
    line = desk.marks.markers[0].line
    assert (line.start.x - before.start.x, line.stop.x - before.stop.x) == (3, 3)
    film.key(qtbot, Qt.Key.Key_1)
    assert desk.pick.part == TOP
    film.key(qtbot, Qt.Key.Key_Right, SHIFT | CTRL)
    film.key(qtbot, Qt.Key.Key_1)
    assert desk.pick.part == FOOT
    tilted = desk.marks.markers[0].line
    assert (tilted.start.x - line.start.x, tilted.stop.x - line.stop.x) == (10, 0)
    for _ in range(60):
        film.key(qtbot, Qt.Key.Key_Down, SHIFT | CTRL)
    assert desk.marks.markers[0].line.stop.y == 270, "stays inside the picture"
    film.key(qtbot, Qt.Key.Key_Delete)
    assert len(desk.marks.markers) == 1
    assert film.bench.undo_stack.undoText() == "remove marker 1"


def test_zoom_and_pan_by_wheel_mouse_and_key(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    view = film.panel.view
    whole = view.map
    wheel(view, 3)
    near = view.map
    assert near.scale == pytest.approx(whole.scale * 1.25**3)
    drag(view, QPoint(400, 200), QPoint(350, 230))
    assert view.map.left == pytest.approx(near.left - 50)
    assert view.map.top == pytest.approx(near.top + 30)
    film.key(qtbot, Qt.Key.Key_Right, ALT)
    assert view.map.left < near.left - 50
    film.key(qtbot, Qt.Key.Key_0)
    assert view.map == whole
    film.key(qtbot, Qt.Key.Key_Plus)
    assert view.map.scale > whole.scale
    film.key(qtbot, Qt.Key.Key_Minus)
    assert view.map == whole, "never smaller than the whole picture"
    qtbot.mouseClick(view.zoom_buttons[0], LEFT)
    assert view.map.scale > whole.scale
    qtbot.mouseClick(view.zoom_buttons[2], LEFT)
    assert view.map == whole


def test_a_line_dragged_in_a_near_view_moves_by_as_much_in_the_film(
    qtbot: QtBot, film: Film
) -> None:
    open_film(qtbot, film)
    lay_lines(qtbot, film)
    view, desk = film.panel.view, film.panel.desk
    coarse = desk.marks.markers[0].line_u_px
    film.key(qtbot, Qt.Key.Key_1)
    for _ in range(6):
        film.key(qtbot, Qt.Key.Key_Plus)
    line = desk.marks.markers[0].line
    middle = Point((line.start.x + line.stop.x) / 2, line.stop.y - 10)
    scale = view.map.scale
    drag(view, film.at(middle), film.at(middle) + QPoint(-round(4 * scale), 0))
    moved = desk.marks.markers[0].line
    assert moved.stop.x - line.stop.x == pytest.approx(-4, abs=1 / scale)
    assert moved.stop.y == pytest.approx(line.stop.y, abs=1 / scale)
    assert desk.marks.markers[0].line_u_px <= coarse


def test_marking_later_than_after_starts_the_crossing_anew(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_N)
    mark_crossing(qtbot, film, 5)
    for _ in range(5):
        film.key(qtbot, Qt.Key.Key_Right)
    film.key(qtbot, Qt.Key.Key_B)
    marker = film.panel.desk.marks.markers[0]
    assert marker.after is None
    assert film.panel.side.cards[0].fault.text() == ""


def test_flip_goes_to_and_fro(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_N)
    film.key(qtbot, Qt.Key.Key_F)
    assert "B for before" in film.panel.side.hint.text()
    mark_crossing(qtbot, film, 7)
    film.key(qtbot, Qt.Key.Key_Home)
    seen = []
    for _ in range(3):
        film.key(qtbot, Qt.Key.Key_F)
        seen.append(film.panel.desk.index)
    assert seen == [7, 8, 7]


def test_marking_without_a_line_says_what_to_do(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_B)
    assert "Lay a marker line first" in film.panel.side.hint.text()
    film.key(qtbot, Qt.Key.Key_Left, SHIFT)
    assert "Pick a marker first" in film.panel.side.hint.text()


def test_three_markers_give_segments_and_say_whether_the_speed_was_constant(
    qtbot: QtBot, film: Film
) -> None:
    """The middle of the picture is straight in front: place 1.2 m, passed at 2.6 s."""
    open_film(qtbot, film)
    mark_both(qtbot, film)
    qtbot.mouseDClick(film.panel.view, LEFT, pos=film.at(Point(240, 211)))
    mark_crossing(qtbot, film, film.panel.source.film.times.last_at(2.6))
    for k, place in ((1, "2.4"), (2, "1.2")):
        film.panel.desk.choose(k)
        row = film.panel.side.cards[k].place
        film.panel.side.ensureWidgetVisible(row)
        retype(qtbot, row.value, place)
        retype(qtbot, row.u, "0.01")
    speed = film.panel.desk.reading.speed
    assert speed is not None
    assert len(speed.segments) == 2
    assert speed.constancy.probability > 0.05
    assert "fit one constant speed" in film.panel.findings.steady.text()
    assert "marker 1 to 3:" in film.panel.findings.steady.text()
    assert "marker 3 to 2:" in film.panel.findings.steady.text()
