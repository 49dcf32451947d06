"""The planning sheet with real keys: usual values, faults at fields, pictures, undo."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.hands import choose, fill_in, retype
from tests.app.window.test_prediction_budget import column

from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import PLAN
from wayside_app.window.plan.plan_page import PlanPage


def turn(qtbot: QtBot, window: MainWindow) -> PlanPage:
    qtbot.keyClick(window, Qt.Key.Key_F7)
    page = window.pages.page(PLAN)
    assert isinstance(page, PlanPage)
    assert page.isVisible()
    return page


def enter(qtbot: QtBot, page: PlanPage, key: str, text: str) -> None:
    row = page.form.rows()[f"plan.{key}"]
    page.form.scroller.ensureWidgetVisible(row)
    retype(qtbot, row.value, text)


def test_usual_values_show_a_plan_that_works(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert "should work" in page.headline.text()
    assert page.example.isVisible()
    assert not page.warnings.isVisible()
    assert "helmet" in page.safety.text()
    assert "hearing protection" in page.safety.text()
    assert not window.hand.isVisible()
    assert QApplication.focusWidget() is page.form.rows()["plan.pitch"].value
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    assert window.hand.isVisible()
    assert window.pages.key == ""


def test_typing_is_followed_at_once(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    enter(qtbot, page, "speed_low", "6")
    enter(qtbot, page, "speed_high", "6")
    enter(qtbot, page, "pitch", "500")
    assert not page.example.isVisible()
    assert column(page.pitches, 0) == ["6.00 m/s"]
    # f0 c/(c ∓ v) with c = 343.2 m/s (ISO 9613-1, A.5)
    assert page.pitches.text(0, 2) == f"{500 * 343.2 / 337.2:.1f}"
    assert page.pitches.text(0, 3) == f"{500 * 343.2 / 349.2:.1f}"
    assert f"{500 * 343.2 / 337.2:.1f} Hz" in page.curve.accessibleDescription()
    assert window.bench.undo_stack.undoText() == "change pitch of the source"


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"speed_low": "0.4", "speed_high": "0.5"}, "notice"),
        ({"before": "3", "after": "3"}, "steady"),
        ({"pitch": "60"}, "weak"),
        ({"distance": "0.3"}, "jump"),
        ({"markers": "1", "tape": "5"}, "tape alone"),
    ],
)
def test_what_will_not_work_is_said(
    qtbot: QtBot, window: MainWindow, changes: dict[str, str], word: str
) -> None:
    page = turn(qtbot, window)
    for key, text in changes.items():
        enter(qtbot, page, key, text)
    assert "not work yet" in page.headline.text()
    assert word in page.warnings.text()


def test_a_fault_stands_at_its_field_and_the_rest_stays(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    enter(qtbot, page, "distance", "near")
    row = page.form.rows()["plan.distance"]
    assert "not a number" in row.fault_text
    assert row.value.text() == "near"
    assert page.plan is None
    assert not page.pitches.isVisible()
    enter(qtbot, page, "speed_low", "7")
    assert page.form.rows()["plan.speed_low"].value.text() == "7"
    enter(qtbot, page, "distance", "2,5")
    assert page.plan is not None
    assert page.plan.request.closest_m == pytest.approx(2.5)


def test_markers_and_camera(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert column(page.camera, 2) == ["–"] * 4
    enter(qtbot, page, "markers", "6")
    enter(qtbot, page, "frame_rates", "25 50")
    assert column(page.camera, 0) == ["25 frames/s", "50 frames/s"]
    # u_v/v = hypot(u_D, v/(R sqrt 6))/D, rectangular frames (JCGM 100, 4.3.7)
    expected = 100 * (0.02**2 + (8 / (25 * 6**0.5)) ** 2) ** 0.5 / 6
    assert page.camera.text(0, 2) == f"{expected:.1f} %"
    assert "at least" in page.frames.text()


def test_units_may_be_chosen(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    enter(qtbot, page, "distance", "10")
    row = page.form.rows()["plan.distance"]
    row.unit.setFocus()
    choose(qtbot, row.unit, "ft")
    assert page.plan is not None
    assert page.plan.request.closest_m == pytest.approx(3.048)


def test_the_form_s_source_is_taken_over_as_one_step(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    assert not page.form.take.isEnabled()
    qtbot.keyClick(page, Qt.Key.Key_Escape)
    fill_in(qtbot, window)
    page = turn(qtbot, window)
    before = window.bench.session
    qtbot.mouseClick(page.form.take, Qt.MouseButton.LeftButton)
    assert page.plan is not None
    p = window.bench.prediction
    assert p is not None
    assert p.cycles_per_metre is not None
    assert page.plan.request.cycles_per_metre == pytest.approx(p.cycles_per_metre.value, rel=1e-3)
    assert "plan.per_metre" in page.form.rows()
    window.bench.undo_stack.undo()
    assert window.bench.session == before


def test_a_wheel_may_be_counted(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    way = page.form.boxes[0].way
    assert way is not None
    way.setFocus()
    qtbot.keyClick(way, Qt.Key.Key_Down)
    assert "plan.count" in page.form.rows()
    assert page.plan is not None
    # 60 elements on a wheel of 33 cm
    assert page.plan.request.cycles_per_metre == pytest.approx(60 / (2 * 3.14159265 * 0.33))


def test_the_plan_is_copied_and_its_picture_saved(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    page = turn(qtbot, window)
    qtbot.mouseClick(page.copy_text, Qt.MouseButton.LeftButton)
    assert QApplication.clipboard().text().startswith("The plan\n")
    assert page.write_picture(tmp_path / "plan.svg")
    assert (tmp_path / "plan.svg").read_text(encoding="utf-8").startswith("<svg")
    assert not page.write_picture(tmp_path / "no" / "plan.svg")
    assert "cannot be written" in page.form.advice.text()


def test_pictures_describe_themselves_and_take_every_look(qtbot: QtBot, window: MainWindow) -> None:
    page = turn(qtbot, window)
    for look in ("light", "dark", "high contrast"):
        window.use_look(look)
        for picture in (page.track, page.curve):
            assert picture.accessibleName()
            assert picture.accessibleDescription().endswith(".")
            image = picture.grab().toImage()
            step = max(1, image.width() // 400)
            colours = {
                image.pixelColor(x, y).name()
                for x in range(0, image.width(), step)
                for y in range(image.height())
            }
            assert len(colours) > 3
    window.use_look("light")


def test_plans_are_kept_when_a_set_up_is_opened(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    fill_in(qtbot, window)
    file = tmp_path / "setup.json"
    assert window.bench.save_setup(file)
    page = turn(qtbot, window)
    enter(qtbot, page, "distance", "2.7")
    window.bench.open_setup(file)
    assert page.form.rows()["plan.distance"].value.text() == "2.7"
