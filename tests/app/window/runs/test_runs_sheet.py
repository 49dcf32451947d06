"""The sheet of the runs with mouse and keys: dropped, sorted, filtered, edited, undone."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QFileDialog
from pytestqt.qtbot import QtBot
from tests.app.window.fakes import Core
from tests.app.window.hands import PAPER, drop, fill_in, retype

from wayside.session.document import SUFFIX, read_session
from wayside_app.window.main_window import MainWindow
from wayside_app.window.pages.pages import RUNS
from wayside_app.window.runs.model import DIFFERENCE, E_N, KEY_ROLE, NAME, SOUND, VERDICT
from wayside_app.window.runs.runs_page import RunsPage

Wait = Callable[[MainWindow], None]
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
LEFT = Qt.MouseButton.LeftButton
NONE = Qt.KeyboardModifier.NoModifier


def _names(page: RunsPage) -> list[str]:
    proxy = page.proxy
    return [str(proxy.index(k, NAME).data()).strip(" ▸") for k in range(proxy.rowCount())]


def _click(qtbot: QtBot, page: RunsPage, row: int, keys: Qt.KeyboardModifier = NONE) -> QPoint:
    place = page.table.visualRect(page.proxy.index(row, NAME)).center()
    qtbot.mouseClick(page.table.viewport(), LEFT, keys, place)
    return place


def _by_key(page: RunsPage, key: int, column: int) -> str:
    for at in range(page.proxy.rowCount()):
        index = page.proxy.index(at, column)
        if index.data(KEY_ROLE) == key:
            return str(index.data())
    raise AssertionError(f"run {key} is not in sight")


def test_several_dropped_files_become_a_run_each_and_are_measured_in_turn(
    qtbot: QtBot, window: MainWindow, class_files: list[Path], all_measured: Wait
) -> None:
    fill_in(qtbot, window)
    drop(window, class_files)
    assert window.pages.key == RUNS
    page = window.runs.page
    assert _names(page) == [p.stem for p in class_files]
    all_measured(window)
    assert [run.direction for run in window.bench.session.runs] == [
        "out", "back", "out", "back", "out"
    ]  # fmt: skip
    first = window.bench.session.runs[0]
    assert first.entries["motion.first_time"].text == PAPER["motion.first_time"][0]
    assert "motion.first_time" not in window.bench.session.runs[1].entries
    assert window.bench.session.runs[1].entries["source.count"].text == "92"
    qtbot.waitUntil(lambda: _by_key(page, first.key, VERDICT) == "✓ yes", timeout=5000)
    sounds = [float(str(page.proxy.index(k, SOUND).data()).split()[0]) for k in range(5)]
    # with a set-up the speed rests on the set-up's own speed of sound
    assert sounds == pytest.approx([9.2, 9.0, 9.3, 8.9, 9.1], rel=1e-3)
    assert _by_key(page, 2, DIFFERENCE) == "–", "no crossing times, so the hand says nothing"
    row = window.bench.runs.seen(window.bench.session, 0).row
    assert row.speed_mps.e_n is not None
    assert float(_by_key(page, first.key, E_N)) == pytest.approx(abs(row.speed_mps.e_n), abs=0.006)


def test_a_bad_file_gets_its_sentence_and_holds_up_nobody(
    qtbot: QtBot, window: MainWindow, class_files: list[Path], all_measured: Wait
) -> None:
    bad = class_files[0].with_name("bad one.wav")
    bad.write_bytes(b"x")
    drop(window, [class_files[0], bad, *class_files[1:]])
    all_measured(window)
    page = window.runs.page
    rows = [window.bench.runs.seen(window.bench.session, k).row for k in range(6)]
    assert [row.outcome for row in rows] == ["measured", "failed"] + ["measured"] * 4
    assert "holds no sound" in rows[1].sentence
    qtbot.waitUntil(lambda: page.proxy.index(1, 9).data() == "⚠ cannot be used", timeout=5000)
    _click(qtbot, page, 1)
    assert "holds no sound" in page.box.about.text()


def test_a_file_removed_while_measuring_is_told_in_its_row(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    core.hold = threading.Event()
    drop(window, class_files)
    qtbot.waitUntil(lambda: window.bench.rest.busy, timeout=10000)
    class_files[-1].unlink()
    core.hold.set()
    all_measured(window)
    rows = [window.bench.runs.seen(window.bench.session, k).row for k in range(5)]
    assert [row.outcome for row in rows] == ["measured"] * 4 + ["failed"]
    assert "b3-out.wav is no longer where it was" in rows[-1].sentence
    class_files[-1].write_bytes(b"b3-out")
    page = window.runs.page
    qtbot.waitUntil(page.again.isVisible, timeout=5000)
    qtbot.mouseClick(page.again, LEFT)
    all_measured(window)
    assert window.bench.runs.seen(window.bench.session, 4).row.outcome == "measured"


def test_measuring_the_others_can_be_stopped_and_gone_on_with(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    core.hold = threading.Event()
    drop(window, class_files)
    page = window.runs.page
    qtbot.waitUntil(page.stop.isVisible, timeout=10000)
    qtbot.mouseClick(page.stop, LEFT)
    qtbot.waitUntil(lambda: not window.bench.rest.busy, timeout=10000)
    assert window.bench.rest.stopped
    assert len(window.bench.rest.waiting()) == 4
    assert page.proxy.index(2, 9).data() == "stopped"
    core.hold.set()
    qtbot.mouseClick(page.again, LEFT)
    all_measured(window)


def test_sorted_by_its_headings(
    qtbot: QtBot, window: MainWindow, class_files: list[Path], all_measured: Wait
) -> None:
    drop(window, class_files)
    all_measured(window)
    page = window.runs.page
    qtbot.waitUntil(lambda: page.proxy.index(4, SOUND).data() != "–", timeout=5000)
    header = page.table.horizontalHeader()
    place = QPoint(header.sectionViewportPosition(SOUND) + 20, header.height() // 2)
    qtbot.mouseClick(header.viewport(), LEFT, pos=place)
    assert _names(page) == ["b2-back", "a2-back", "b3-out", "a1-out", "b1-out"]
    qtbot.mouseClick(header.viewport(), LEFT, pos=place)
    assert _names(page) == ["b1-out", "a1-out", "b3-out", "a2-back", "b2-back"]


def test_names_with_numbers_sort_as_people_count(qtbot: QtBot, window: MainWindow) -> None:
    window.runs.add()
    window.runs.add()
    window.runs.show_all()
    page = window.runs.page
    for at, name in enumerate(("run 10", "run 2", "run 1")):
        _click(qtbot, page, at)
        page.box.name.setFocus()
        page.box.name.selectAll()
        qtbot.keyClicks(page.box.name, name)
    page.table.sortByColumn(NAME, Qt.SortOrder.AscendingOrder)
    assert _names(page) == ["run 1", "run 2", "run 10"]


def test_filtered_by_text_group_and_verdict(
    qtbot: QtBot, window: MainWindow, class_files: list[Path], all_measured: Wait
) -> None:
    fill_in(qtbot, window)
    drop(window, class_files)
    all_measured(window)
    page = window.runs.page
    qtbot.keyClicks(page.finder, "back")
    assert _names(page) == ["a2-back", "b2-back"]
    assert page.count.text() == "2 of 5 runs"
    assert "2 runs in sight" in page.together.heading.text()
    page.finder.clear()
    _click(qtbot, page, 0)
    _click(qtbot, page, 1, CTRL)
    page.box.group.setFocus()
    qtbot.keyClicks(page.box.group, "A")
    assert [run.group for run in window.bench.session.runs] == ["A", "A", "", "", ""]
    page.group.setFocus()
    qtbot.keyClick(page.group, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: _names(page) == ["a1-out", "a2-back"], timeout=3000)
    qtbot.keyClick(page.group, Qt.Key.Key_Up)
    page.kind.setFocus()
    qtbot.keyClick(page.kind, Qt.Key.Key_Down)
    assert _names(page) == ["a1-out"], "the only one with a prediction agrees"


def test_name_group_and_way_are_edited_and_undone_word_by_word(
    qtbot: QtBot, window: MainWindow
) -> None:
    window.runs.show_all()
    page = window.runs.page
    retype(qtbot, page.box.name, "third try")
    retype(qtbot, page.box.group, "B")
    page.box.way.setFocus()
    qtbot.keyClick(page.box.way, Qt.Key.Key_Down)
    run = window.bench.session.run
    assert (run.name, run.group, run.direction) == ("third try", "B", "out")
    stack = window.bench.undo_stack
    assert [stack.text(k) for k in range(stack.count())] == [
        "rename a run",
        "change the group",
        "change the way",
    ]
    for expected in (("third try", "B", ""), ("third try", "", ""), ("", "", "")):
        qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
        run = window.bench.session.run
        assert (run.name, run.group, run.direction) == expected
    qtbot.keyClick(window, Qt.Key.Key_Y, CTRL)
    assert window.bench.session.run.name == "third try"
    assert page.box.name.text() == "third try"


def test_next_run_copy_and_remove_come_back_with_undo(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    qtbot.keyClick(window, Qt.Key.Key_N, CTRL | SHIFT)
    session = window.bench.session
    assert (len(session.runs), session.shown) == (2, 1)
    assert window.hand.row("source.count").value.text() == "92"
    assert window.hand.row("motion.first_time").value.text() == ""
    retype(qtbot, window.hand.row("motion.first_time").value, "1.5")
    qtbot.keyClick(window, Qt.Key.Key_PageUp, CTRL)
    assert window.bench.session.shown == 0
    retype(qtbot, window.hand.row("source.count").value, "90")
    qtbot.keyClick(window, Qt.Key.Key_F9)
    page = window.runs.page
    qtbot.keyClick(page.table, Qt.Key.Key_A, CTRL)
    qtbot.mouseClick(page.copy_button, LEFT)
    second = window.bench.session.runs[1]
    assert second.entries["source.count"].text == "90"
    assert second.entries["motion.first_time"].text == "1.5", "what was read in it stays"
    page.table.setFocus()
    qtbot.keyClick(page.table, Qt.Key.Key_Delete)
    assert len(window.bench.session.runs) == 1
    assert window.bench.session.run.blank
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert len(window.bench.session.runs) == 2
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert window.bench.session.runs[1].entries["source.count"].text == "92"


def test_a_run_is_shown_by_double_click_enter_and_two_keys(
    qtbot: QtBot, window: MainWindow, class_files: list[Path], all_measured: Wait
) -> None:
    drop(window, class_files)
    all_measured(window)
    page, bench = window.runs.page, window.bench
    place = _click(qtbot, page, 2)
    qtbot.mouseDClick(page.table.viewport(), LEFT, pos=place)
    assert bench.session.shown == 2
    assert window.pages.key == RUNS, "the list stays in front"
    qtbot.waitUntil(lambda: bench.heard is not None, timeout=10000)
    assert bench.heard is not None
    assert Path(bench.heard.media.path) == class_files[2]
    assert bench.measurement is not None, "what was measured before is there at once"
    qtbot.keyClick(page.table, Qt.Key.Key_Down)
    qtbot.keyClick(page.table, Qt.Key.Key_Return)
    assert bench.session.shown == 3
    qtbot.keyClick(window, Qt.Key.Key_PageDown, CTRL)
    qtbot.keyClick(window, Qt.Key.Key_PageDown, CTRL)
    assert bench.session.shown == 0, "after the last comes the first"
    assert "Run 1 of 5: a1-out, out" in window.run_line.name.text()
    qtbot.mouseClick(window.run_line.before, LEFT)
    assert bench.session.shown == 4
    assert not bench.undo_stack.undoText().startswith("show")


def test_undo_shows_the_run_whose_edit_it_takes_back(qtbot: QtBot, window: MainWindow) -> None:
    fill_in(qtbot, window)
    qtbot.keyClick(window, Qt.Key.Key_N, CTRL | SHIFT)
    retype(qtbot, window.hand.row("air.temperature").value, "25")
    qtbot.keyClick(window, Qt.Key.Key_PageUp, CTRL)
    retype(qtbot, window.hand.row("air.temperature").value, "15")
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert (window.bench.session.shown, window.hand.row("air.temperature").value.text()) == (
        0, "20"
    )  # fmt: skip
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    assert window.bench.session.shown == 1
    assert window.hand.row("air.temperature").value.text() == "20"
    qtbot.keyClick(window, Qt.Key.Key_Y, CTRL)
    assert window.hand.row("air.temperature").value.text() == "25"


def test_a_changed_set_up_has_its_own_run_measured_again_and_undo_finds_the_old_result(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    fill_in(qtbot, window)
    drop(window, class_files)
    all_measured(window)
    count = len(core.measures)
    assert count == 5
    window.pages.turn_back()
    retype(qtbot, window.hand.row("air.temperature").value, "30")
    qtbot.waitUntil(lambda: len(core.measures) == 6, timeout=10000)
    all_measured(window)
    qtbot.keyClick(window, Qt.Key.Key_Z, CTRL)
    qtbot.wait(700)
    all_measured(window)
    assert len(core.measures) == 6, "the old result was kept"


def test_with_set_ups_of_their_own_names(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    folder = class_files[0].parent
    _, setup = core.make_sample(folder / "sample")
    own = folder / "a2-back.setup.json"
    own.write_bytes(setup.read_bytes())
    broken = folder / "broken.json"
    broken.write_text("{")
    drop(window, [*class_files, own, broken])
    all_measured(window)
    runs = window.bench.session.runs
    assert [bool(run.entries) for run in runs] == [False, True, False, False, False]
    assert runs[1].entries["source.pitch"].text == "412"
    assert "broken.json" in window.banner.sentence


def test_everything_is_saved_and_there_at_once_when_opened(
    qtbot: QtBot,
    make_window: Callable[[], MainWindow],
    core: Core,
    class_files: list[Path],
    all_measured: Wait,
    tmp_path: Path,
) -> None:
    window = make_window()
    drop(window, class_files)
    all_measured(window)
    retype(qtbot, window.runs.page.box.group, "A")
    target = tmp_path / f"class{SUFFIX}"
    assert window.keeper.save(target)
    saved = read_session(target)
    assert all(run.media is not None and len(run.media.sha256) == 64 for run in saved.runs)
    window.close()
    class_files[3].unlink()
    core.measures.clear()
    core.loads.clear()

    second = make_window()
    assert second.keeper.open(target)
    second.runs.show_all()
    page = second.runs.page
    sounds = [float(str(page.proxy.index(k, SOUND).data()).split()[0]) for k in range(5)]
    assert sounds == pytest.approx([9.2, 9.0, 9.3, 8.9, 9.1])
    qtbot.waitUntil(lambda: second.bench.heard is not None, timeout=10000)
    assert core.measures == []
    assert [p.name for p in core.loads] == ["a1-out.wav"], "only the run that is shown is read"


def test_work_with_several_runs_is_recovered(
    qtbot: QtBot,
    make_window: Callable[[], MainWindow],
    class_files: list[Path],
    all_measured: Wait,
    tmp_path: Path,
) -> None:
    window = make_window()
    drop(window, class_files)
    all_measured(window)
    window.keeper.keep_now()
    copies = list((tmp_path / "unsaved").glob(f"*{SUFFIX}"))
    assert len(copies) == 1
    kept = copies[0].read_bytes()
    window.keeper.close()
    orphan = tmp_path / "unsaved" / f"left{SUFFIX}"
    orphan.write_bytes(kept)
    second = make_window()
    second.offer_recovery()
    qtbot.mouseClick(second.banner.action, LEFT)
    assert [run.direction for run in second.bench.session.runs][:2] == ["out", "back"]
    assert second.bench.measurement is not None
    assert second.isWindowModified()


def test_recordings_are_added_by_a_button(
    qtbot: QtBot,
    window: MainWindow,
    class_files: list[Path],
    all_measured: Wait,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    window.runs.show_all()
    names = ([str(p) for p in class_files[:2]], "")
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *a, **k: names)
    qtbot.mouseClick(window.runs.page.add_button, LEFT)
    all_measured(window)
    assert len(window.bench.session.runs) == 2


def test_pooled_and_paired_below_the_list(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    _, setup = core.make_sample(class_files[0].parent / "sample")
    drop(window, [*class_files, setup])
    all_measured(window)
    page = window.runs.page
    qtbot.waitUntil(lambda: page.together.means.rowCount() >= 2, timeout=5000)
    assert page.together.means.text(0, 1) == "5"
    assert page.together.means.text(1, 2).startswith("412.0")
    assert [page.together.pairs.text(k, 0) for k in range(page.together.pairs.rowCount())] == [
        "a1-out and a2-back",
        "b1-out and b2-back",
    ]
    # the same source pitch both ways, so no wind
    assert page.together.pairs.text(0, 1).split()[0].strip("+−") in ("0.0", "0.00")
    assert "over 5 runs" in page.together.told.text()


def test_a_run_that_stands_out_is_marked_with_the_reason(
    qtbot: QtBot, window: MainWindow, core: Core, class_files: list[Path], all_measured: Wait
) -> None:
    name = class_files[2].name
    core.truths = {p.name: core.truth for p in class_files}
    core.truths[name] = replace(core.truth, source_hz=430.0)
    drop(window, class_files)
    all_measured(window)
    page = window.runs.page
    qtbot.waitUntil(lambda: page.proxy.index(2, 9).data() == "◆ stands out", timeout=5000)
    _click(qtbot, page, 2)
    assert "stands out" in page.box.about.text()
    assert "mean of the other 4 runs" in page.box.about.text()
    page.kind.setCurrentIndex(page.kind.findData("odd"))
    page.kind.activated.emit(page.kind.currentIndex())
    assert _names(page) == ["b1-out"]


def test_copied_as_text_with_its_headings(
    qtbot: QtBot, window: MainWindow, class_files: list[Path], all_measured: Wait
) -> None:
    drop(window, class_files)
    all_measured(window)
    page = window.runs.page
    page.table.setFocus()
    qtbot.keyClick(page.table, Qt.Key.Key_C, CTRL)
    lines = QApplication.clipboard().text().split("\n")
    assert len(lines) == 6
    assert lines[0].startswith("run\tgroup\tway\t")
    assert lines[1].startswith("a1-out\t\tout\t")


def test_everything_on_the_sheet_has_a_name(qtbot: QtBot, window: MainWindow) -> None:
    window.runs.add()
    window.runs.show_all()
    page = window.runs.page
    for widget in (
        page.table, page.finder, page.group, page.kind, page.progress,
        page.together.means, page.together.pairs,
        page.box.name, page.box.group, page.box.way, page.remove_button,
        window.run_line.before, window.run_line.after,
    ):  # fmt: skip
        assert widget.accessibleName(), widget


def test_many_runs_are_pooled_behind_the_window(
    qtbot: QtBot, window: MainWindow, core: Core, tmp_path: Path, all_measured: Wait
) -> None:
    files = [tmp_path / f"r{k}.wav" for k in range(9)]
    for k, path in enumerate(files):
        path.write_bytes(str(k).encode())
        core.truths[path.name] = replace(core.truth, source_hz=430.0 if k == 4 else 412.0)
    drop(window, files)
    all_measured(window)
    page = window.runs.page
    qtbot.waitUntil(lambda: page.proxy.index(4, 9).data() == "◆ stands out", timeout=5000)
    qtbot.waitUntil(lambda: page.together.means.text(0, 1) == "9", timeout=5000)
    qtbot.keyClicks(page.finder, "r1")
    qtbot.waitUntil(lambda: page.together.means.text(0, 1) == "1", timeout=5000)


def test_more_runs_than_a_session_holds_are_refused_whole(
    window: MainWindow, class_files: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("wayside_app.window.runs.in_window.MOST_RUNS", 4)
    drop(window, class_files)
    assert "at most 4 runs" in window.banner.sentence
    assert len(window.bench.session.runs) == 1
