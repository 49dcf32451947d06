"""What stands behind ± in the form: limits, scale steps, shapes, repeats, shared instruments."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.app.window.hands import choose, fill_in, retype
from tests.core.hand.test_sources import SOURCES

from wayside.hand.sources import SOURCE_KINDS
from wayside.hand.units import units_of
from wayside_app.window.form.field_row import FieldRow
from wayside_app.window.main_window import MainWindow


def unfold(qtbot: QtBot, window: MainWindow, path: str) -> FieldRow:
    row = window.hand.row(path)
    window.hand.scroller.ensureWidgetVisible(row)
    qtbot.mouseClick(row.about, Qt.MouseButton.LeftButton)
    assert row.details.isVisible()
    return row


def u_of(window: MainWindow, path: str) -> float:
    entry = window.bench.reading.entries[path]
    return entry.standard_u


def test_limits_are_a_rectangle(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    row = unfold(qtbot, window, "motion.marker_distance")
    row.details.kind.setFocus()
    choose(qtbot, row.details.kind, "limits")
    # rectangular distribution: half-width over the root of three (JCGM 100:2008, 4.3.7)
    assert u_of(window, "motion.marker_distance") == pytest.approx(0.02 / math.sqrt(3))
    assert row.about.text() == "± max"
    assert row.summary.text() == "u = 0.012 m"
    row.details.shape.setFocus()
    choose(qtbot, row.details.shape, "tri")
    # triangular: over the root of six (JCGM 100:2008, 4.3.9)
    assert u_of(window, "motion.marker_distance") == pytest.approx(0.02 / math.sqrt(6))


def test_a_scale_step_is_a_rectangle_of_that_width(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    row = unfold(qtbot, window, "air.temperature")
    row.details.kind.setFocus()
    choose(qtbot, row.details.kind, "small")
    assert row.about.text() == "step"
    # full width over the root of twelve
    assert u_of(window, "air.temperature") == pytest.approx(0.5 / math.sqrt(12))


def test_repeats_are_pooled_with_the_step(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    row = unfold(qtbot, window, "motion.marker_distance")
    retype(qtbot, row.value, "6.10 6.14 6.06")
    retype(qtbot, row.u, "")
    retype(qtbot, row.details.step, "0.01")
    # s = 0.04, s/sqrt 3, and 0.01/sqrt 12 in quadrature (JCGM 100:2008, 4.2.3 and 4.3.7)
    wanted = math.hypot(0.04 / math.sqrt(3), 0.01 / math.sqrt(12))
    assert u_of(window, "motion.marker_distance") == pytest.approx(wanted)
    assert row.summary.text().startswith("mean of 3: 6.100 m, scatter 0.040 m")
    assert row.fault_text == ""


def test_a_bad_step_is_told_at_the_field_and_kept(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    row = unfold(qtbot, window, "motion.marker_distance")
    retype(qtbot, row.details.step, "fine")
    assert "“fine” is not a number" in row.fault_text
    assert row.details.step.text() == "fine"
    assert window.bench.prediction is None
    retype(qtbot, row.details.step, "0.01")
    assert window.bench.prediction is not None


def test_a_shared_tape_gets_a_row_of_its_own(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    for path in ("motion.marker_distance", "source.loaded_radius"):
        row = unfold(qtbot, window, path)
        retype(qtbot, row.details.tool, "school tape")
    assert window.bench.prediction is None
    assert "scale of school tape" in window.hand.expectation.waiting.text()
    tape = window.hand.row("tools.school tape")
    retype(qtbot, tape.u, "1")
    p = window.bench.prediction
    assert p is not None
    # f0 = v N/(2 pi r): the same tape for D and r cancels
    assert not any(line.path == "tools.school tape" for line in p.budget["source_hz"])
    assert any(line.path == "tools.school tape" for line in p.budget["speed_mps"])
    assert window.bench.undo_stack.undoText() == "change scale of school tape"
    window.bench.undo_stack.undo()
    assert window.bench.prediction is None
    assert tape.u.text() == ""


def test_details_are_reached_by_key(qtbot: QtBot, window: MainWindow) -> None:
    row = window.hand.row("motion.marker_distance")
    row.about.setFocus()
    qtbot.keyClick(row.about, Qt.Key.Key_Space)
    assert row.details.isVisible()
    wanted = [row.u, row.details.kind, row.details.shape, row.details.step, row.details.tool]
    for part in wanted:
        qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        assert QApplication.focusWidget() is part
        assert part.accessibleName()


@pytest.mark.parametrize("kind", SOURCE_KINDS)
def test_every_kind_of_source_can_be_typed_in(qtbot: QtBot, window: MainWindow, kind: str) -> None:
    fill_in(qtbot, window)
    window.hand.kind.setCurrentIndex(window.hand.kind.findData(kind))
    window.hand.kind.activated.emit(window.hand.kind.currentIndex())
    fields = SOURCES[kind]
    if "rollout" in fields:
        window.bench.choose("source.way", "roll-out", "way")
    for key, value in fields.items():
        row = window.hand.row(f"source.{key}")
        assert row.field.hint
        assert row.unit.count() == len(units_of(row.field.dimension))
        retype(qtbot, row.value, str(value["value"]))
        if "unit" in value:
            window.bench.type_entry(
                row.field.path, row.entry().__class__(str(value["value"]), value["unit"]), "x"
            )
        if "u" in value:
            retype(qtbot, row.u, str(value["u"]))
    assert not [r.fault_text for r in window.hand.rows().values() if r.fault_text]
    assert window.bench.prediction is not None
    assert window.bench.prediction.setup.source_kind == kind
