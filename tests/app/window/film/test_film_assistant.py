"""The assistant proposes; nothing is used before a person takes it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot
from tests.app.window.film.hands import POSTS, Film, crossing_truth, open_film
from tests.app.window.hands import drag

from wayside.film.geometry import Point

LEFT = Qt.MouseButton.LeftButton


def lay_low_lines(qtbot: QtBot, film: Film) -> None:
    """Lay lines low over the ground, where the tyre's foremost point is near its axle's place."""
    for k, (foot, _) in enumerate(POSTS):
        qtbot.mouseDClick(film.panel.view, LEFT, pos=film.at(foot))
        line = film.panel.desk.marks.markers[k].line
        drag(film.panel.view, film.at(line.start), film.at(Point(foot.x, 170)))


def search(qtbot: QtBot, film: Film) -> None:
    """Ask by key and wait for the answer."""
    film.key(qtbot, Qt.Key.Key_P)
    assert film.panel.offers.searching
    assert film.panel.side.offer_box.progress.isVisible()
    qtbot.waitUntil(lambda: not film.panel.offers.searching, timeout=20000)


def test_a_proposal_is_shown_and_used_only_when_taken(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    lay_low_lines(qtbot, film)
    search(qtbot, film)
    desk, offers, box = film.panel.desk, film.panel.offers, film.panel.side.offer_box
    assert offers.current is not None
    assert desk.index == offers.current.proposal.before
    assert "Marker 1, proposal 1 of" in box.text.text()
    assert "Only a proposal" in box.caution.text()
    assert all(m.before is None and m.after is None for m in desk.marks.markers)
    film.key(qtbot, Qt.Key.Key_F)
    assert desk.index == offers.current.proposal.after
    film.key(qtbot, Qt.Key.Key_Return)
    assert desk.marks.markers[0].after is not None
    assert film.bench.undo_stack.undoText() == "take the proposed crossing of marker 1"
    assert offers.current.marker == 1
    qtbot.mouseClick(box.take, LEFT)
    assert offers.current is None
    assert not box.isVisible()
    for k in range(2):
        found = desk.reading.markers[k].crossing.time.value
        # the tyre's front at this height is up to its radius, 0.31 m, ahead of the axle
        assert -0.31 / 5.8 - 1 / 30 <= found - crossing_truth(k)["time_s"] <= 1 / 30
    film.bench.undo_stack.undo()
    assert desk.marks.markers[1].before is None


def test_dropped_proposals_leave_nothing(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    lay_low_lines(qtbot, film)
    steps = film.bench.undo_stack.count()
    search(qtbot, film)
    for _ in range(20):
        if film.panel.offers.current is None:
            break
        film.key(qtbot, Qt.Key.Key_Escape)
    assert film.panel.offers.current is None
    assert film.bench.undo_stack.count() == steps
    assert all(m.before is None for m in film.panel.desk.marks.markers)


def test_moving_the_line_drops_its_proposals(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    lay_low_lines(qtbot, film)
    search(qtbot, film)
    film.key(qtbot, Qt.Key.Key_1)
    film.key(qtbot, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert film.panel.offers.current is not None
    assert film.panel.offers.current.marker == 1


def test_the_search_can_be_stopped(
    qtbot: QtBot, film: Film, monkeypatch: pytest.MonkeyPatch
) -> None:
    import time

    def endless(film: object, lines: object, *, job: object) -> list[object]:
        while True:
            job.step(0.4, "Watching the lines")  # type: ignore[attr-defined]
            time.sleep(0.005)

    monkeypatch.setattr("wayside_app.window.film.offers.propose_crossings", endless)
    open_film(qtbot, film)
    lay_low_lines(qtbot, film)
    film.key(qtbot, Qt.Key.Key_P)
    box = film.panel.side.offer_box
    qtbot.waitUntil(lambda: box.progress.value() == 400, timeout=5000)
    film.key(qtbot, Qt.Key.Key_Right)
    assert film.panel.desk.index == 1, "the film can be stepped meanwhile"
    qtbot.mouseClick(box.stop, LEFT)
    qtbot.waitUntil(lambda: not film.panel.offers.searching, timeout=5000)
    assert not box.isVisible()


def test_without_a_line_it_says_what_to_do(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    film.key(qtbot, Qt.Key.Key_P)
    assert "Lay a marker line first" in film.panel.side.offer_box.fault.text()


def test_nothing_to_propose_is_said(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    view, desk = film.panel.view, film.panel.desk
    qtbot.mouseDClick(view, LEFT, pos=film.at(Point(300, 268)))
    drag(view, film.at(desk.marks.markers[0].line.start), film.at(Point(300, 240)))
    search(qtbot, film)
    assert film.panel.offers.current is None
    assert "Marker 1: " in film.panel.side.offer_box.fault.text()


def test_typing_a_place_never_takes_a_proposal(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    lay_low_lines(qtbot, film)
    search(qtbot, film)
    film.panel.desk.choose(1)
    value = film.panel.side.cards[1].place.value
    film.panel.side.ensureWidgetVisible(value)
    qtbot.mouseClick(value, LEFT)
    qtbot.keyClicks(value, "2.4")
    qtbot.keyClick(value, Qt.Key.Key_Return)
    qtbot.keyClick(value, Qt.Key.Key_B)
    assert all(m.before is None for m in film.panel.desk.marks.markers)
