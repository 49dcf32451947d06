"""Picture and sound on one clock, as the panel shows it; slow motion and upright films."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel
from pytestqt.qtbot import QtBot
from tests.app.window.film.hands import TRUTH, Film, mark_crossing, open_film
from tests.app.window.hands import drag, retype

from wayside.film.clock import UNKNOWN_OFFSET_U_S
from wayside.film.geometry import Point

LEFT = Qt.MouseButton.LeftButton


def heard(qtbot: QtBot, film: Film) -> None:
    """Wait until the sound has been measured."""
    qtbot.waitUntil(lambda: film.bench.measurement is not None, timeout=20000)


def test_the_passing_found_in_the_sound_is_shown_and_gone_to(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    heard(qtbot, film)
    findings = film.panel.findings
    assert "2.600" in findings.passing.text() or "2.60" in findings.passing.text()
    assert f"{1e3 * UNKNOWN_OFFSET_U_S:.0f} ms" in findings.basis.text()
    assert "straight in front of the camera" in findings.basis.text()
    film.key(qtbot, Qt.Key.Key_G)
    assert film.panel.desk.index == film.panel.source.film.times.last_at(2.6)
    film.key(qtbot, Qt.Key.Key_Home)
    qtbot.mouseClick(findings.go, LEFT)
    assert film.panel.desk.index == film.panel.source.film.times.last_at(2.6)


def test_a_marker_at_the_camera_checks_film_against_sound(qtbot: QtBot, film: Film) -> None:
    """The film's truth: the axle is in front of the camera, mid-picture, at 2.6 s."""
    open_film(qtbot, film)
    heard(qtbot, film)
    qtbot.mouseDClick(film.panel.view, LEFT, pos=film.at(Point(240, 211)))
    frame = film.panel.source.film.times.last_at(TRUTH["passing_time_s"]["value"])
    mark_crossing(qtbot, film, frame)
    box = film.panel.side.cards[0].at_camera
    film.panel.side.ensureWidgetVisible(box)
    qtbot.mouseClick(box, LEFT)
    assert film.panel.findings.check.text().startswith("✓ Film and sound agree")
    qtbot.mouseClick(film.panel.side.cards[0].name, LEFT)
    for _ in range(12):
        film.key(qtbot, Qt.Key.Key_Right)
    film.key(qtbot, Qt.Key.Key_A)
    film.key(qtbot, Qt.Key.Key_Left)
    film.key(qtbot, Qt.Key.Key_B)
    assert film.panel.findings.check.text().startswith("✗ The film shows the passing later")


def test_only_one_marker_stands_in_front_of_the_camera(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    for _ in range(2):
        film.key(qtbot, Qt.Key.Key_N)
    for k in range(2):
        film.panel.desk.choose(k)
        film.panel.side.ensureWidgetVisible(film.panel.side.cards[k].at_camera)
        qtbot.mouseClick(film.panel.side.cards[k].at_camera, LEFT)
    assert [m.at_camera for m in film.panel.desk.marks.markers] == [False, True]


def test_a_clap_entered_by_hand_sets_the_clock(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    heard(qtbot, film)
    fold = film.panel.side.clap
    qtbot.mouseClick(fold.head, LEFT)
    film.panel.desk.go_to(30)
    film.panel.side.ensureWidgetVisible(fold.after)
    qtbot.mouseClick(fold.before, LEFT)
    film.panel.desk.step(1)
    qtbot.mouseClick(fold.after, LEFT)
    assert "Still needed" in fold.state.text()
    times = film.panel.source.film.times.seconds
    told = (times[30] + times[31]) / 2 + 0.040 + 3.43 / TRUTH["sound_speed_mps"]["value"]
    film.panel.side.ensureWidgetVisible(fold.distance)
    retype(qtbot, fold.heard.value, f"{told:.4f}")
    retype(qtbot, fold.heard.u, "0.002")
    retype(qtbot, fold.distance.value, "3.43")
    retype(qtbot, fold.distance.u, "0.05")
    link = film.panel.together.link
    assert link.offset.value == pytest.approx(0.040, abs=2e-4)
    assert link.offset.u < 0.012
    assert "lags the picture by 0.0" in fold.state.text()
    assert film.panel.together.passing_seen.value == pytest.approx(2.6 - 0.040, abs=1e-3)
    film.bench.undo_stack.undo()
    assert "Still needed" in fold.state.text() or "after ±" in fold.state.text()


def test_slow_motion_is_noticed_explained_and_put_right_by_hand(
    qtbot: QtBot, film: Film, tmp_path: Path, make_film: Callable[..., Path]
) -> None:
    """Filmed at 240 a second, played at 30: the file says so, and crossings become true."""
    path = make_film(
        tmp_path / "slow.mp4",
        np.arange(60) / 30,
        metadata={"com.android.capture.fps": "240"},
    )
    open_film(qtbot, film, path)
    assert "slow motion" in film.panel.banner.sentence
    rate = film.panel.side.rate
    assert rate.head.isChecked()
    film.panel.side.ensureWidgetVisible(rate.rate)
    qtbot.mouseClick(rate.rate, LEFT)
    qtbot.keyClicks(rate.rate, "fast")
    assert "not a number" in rate.fault.text()
    rate.rate.selectAll()
    qtbot.keyClicks(rate.rate, "240")
    assert rate.fault.text() == ""
    assert "8.000 s in this film" in rate.result.text()
    for x, frame in ((100, 10), (200, 50)):
        qtbot.mouseDClick(film.panel.view, LEFT, pos=film.at(Point(x, 150)))
        mark_crossing(qtbot, film, frame)
    first, second = (
        float(film.bench.session.entry(f"motion.{name}_time").text) for name in ("first", "second")
    )
    assert second - first == pytest.approx(40 / 240, abs=2e-4)
    assert film.panel.together.passing_seen is None
    assert "natural speed" in film.panel.findings.basis.text()


def test_an_upright_film_is_shown_upright_and_warns_about_its_rows(
    qtbot: QtBot, film: Film, tmp_path: Path
) -> None:
    from tests.core.film.conftest import write_film

    def paint(t: float, k: int) -> np.ndarray:
        picture = np.full((320, 180, 3), 120, dtype=np.uint8)
        picture[:40, :40] = (220, 20, 20)
        return picture

    path = write_film(tmp_path / "up.mp4", np.arange(20) / 30, paint, turns=1)
    open_film(qtbot, film, path)
    shown = film.panel.view.shown.rgb
    assert shown.shape[:2] == (320, 180)
    assert shown[10, 10, 0] > 180
    assert shown[-10, 10, 0] < 150
    assert "upright" in film.panel.side.caution.text()
    assert "30 ms" in film.panel.side.caution.text()


def test_a_level_film_has_the_advice_but_no_warning(qtbot: QtBot, film: Film) -> None:
    open_film(qtbot, film)
    assert not film.panel.side.caution.isVisible()
    qtbot.mouseClick(film.panel.side.advice.head, LEFT)
    words = " ".join(label.text() for label in film.panel.side.advice.body.findChildren(QLabel))
    assert "row by row" in words
    assert "same point" in words


def test_a_known_length_gives_places_with_its_caution(qtbot: QtBot, film: Film) -> None:
    """The posts stand 2.4 m apart: a ruler along them gives the scale of the ground there."""
    open_film(qtbot, film)
    for x in (69, 410):
        qtbot.mouseDClick(film.panel.view, LEFT, pos=film.at(Point(x, 211)))
    fold = film.panel.side.ruler
    qtbot.mouseClick(fold.head, LEFT)
    film.panel.side.ensureWidgetVisible(fold.lay)
    qtbot.mouseClick(fold.lay, LEFT)
    assert "plane" in fold.caution.text()
    ruler = film.panel.desk.marks.ruler
    drag(film.panel.view, film.at(ruler.start), film.at(Point(69, 243)))
    drag(film.panel.view, film.at(film.panel.desk.marks.ruler.stop), film.at(Point(240, 243)))
    film.panel.side.ensureWidgetVisible(fold.use)
    retype(qtbot, fold.length.value, "1.2")
    retype(qtbot, fold.length.u, "0.01")
    assert "marker 1 to 2: 2.3" in fold.result.text() or "marker 1 to 2: 2.4" in fold.result.text()
    film.panel.side.ensureWidgetVisible(fold.use)
    qtbot.mouseClick(fold.use, LEFT)
    place = film.panel.desk.reading.markers[1].place
    assert abs(place.value - 2.4) < 2 * place.u
    film.panel.side.ensureWidgetVisible(fold.remove)
    qtbot.mouseClick(fold.remove, LEFT)
    assert film.panel.desk.marks.ruler is None
