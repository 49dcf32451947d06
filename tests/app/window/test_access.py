"""For people who do not see the screen or do not use a mouse."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget
from pytestqt.qtbot import QtBot
from tests.app.window.hands import drop, fill_in

from wayside_app.window.main_window import MainWindow
from wayside_app.window.menus import TEXT_SCALES
from wayside_app.window.plot.spectrogram_plot import SpectrogramPlot
from wayside_app.window.theme.looks import LOOKS


def _stops(window: MainWindow) -> list[QWidget]:
    """Return what the keyboard reaches; the inner parts of a control are the control's."""
    inner = {"qt_spinbox_lineedit", "qt_scrollarea_viewport"}
    return [
        w
        for w in window.findChildren(QWidget)
        if w.focusPolicy() & Qt.FocusPolicy.TabFocus
        and w.isVisibleTo(window)
        and w.objectName() not in inner
        and not isinstance(w.parent(), SpectrogramPlot)
    ]


def test_everything_the_keyboard_reaches_has_a_name(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    nameless = [
        w
        for w in _stops(window)
        if not w.accessibleName() and not (isinstance(w, QAbstractButton) and w.text())
    ]
    assert not nameless


def test_every_plot_describes_itself_in_one_sentence(
    qtbot: QtBot, window: MainWindow, sound_file: Path
) -> None:
    plots = window.findChildren(SpectrogramPlot)
    assert plots
    for plot in plots:
        assert plot.accessibleDescription().endswith(".")
    drop(window, [sound_file])
    qtbot.waitUntil(lambda: window.bench.measurement is not None, timeout=20000)
    text = window.sound.plot.accessibleDescription()
    assert "423.3 Hz down to 401.2 Hz" in text
    fill_in(qtbot, window)
    assert "predicted from" in window.sound.plot.accessibleDescription()


def test_tab_visits_every_control_and_comes_round(qtbot: QtBot, window: MainWindow) -> None:
    wanted = {w for w in _stops(window) if w.isEnabled()}
    window.hand.row("motion.marker_distance").value.setFocus()
    seen = set()
    for _ in range(3 * len(wanted)):
        focused = QApplication.focusWidget()
        assert focused is not None
        seen.add(focused)
        qtbot.keyClick(focused, Qt.Key.Key_Tab)
    assert wanted <= seen


@pytest.mark.parametrize("scale", TEXT_SCALES)
def test_text_grows_and_the_window_still_fits_a_small_screen(
    window: MainWindow, scale: float
) -> None:
    window.use_look(None, scale)
    QApplication.processEvents()
    assert QApplication.font().pointSizeF() == pytest.approx(11.0 * scale)
    small = window.minimumSizeHint()
    assert small.width() <= 1280
    assert small.height() <= 800
    if scale <= 1.5:
        assert window.across.minimumSizeHint().width() <= 1280, "would scroll sideways"


def test_look_and_size_are_remembered(window: MainWindow) -> None:
    for name in LOOKS:
        window.use_look(name, 1.5)
        assert window.preferences.look == name
        assert window.preferences.text_scale == pytest.approx(1.5)
    window.use_look("light", 1.0)


def test_settings_that_make_no_sense_read_as_defaults(window: MainWindow) -> None:
    store = window.preferences._settings
    store.setValue("look", "plaid")
    store.setValue("text_scale", "1e9")
    store.setValue("folder", "/no/such/folder")
    assert window.preferences.look == "light"
    assert window.preferences.text_scale == 2.0
    assert Path(window.preferences.folder) == Path.home()
