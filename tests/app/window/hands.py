"""What a user's hands do: typing into fields, dragging with the mouse, dropping files."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QMouseEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from wayside_app.window.main_window import MainWindow
from wayside_app.window.plot.spectrogram_plot import SpectrogramPlot

PAPER = {
    "motion.marker_distance": ("6.10", "0.02"),
    "motion.first_time": ("3.75", "0.01"),
    "motion.second_time": ("4.41", "0.01"),
    "source.count": ("92", ""),
    "source.loaded_radius": ("32.6", "0.4"),
    "air.temperature": ("20", "0.5"),
}
"""The sheet of paper of the invented demonstration."""


def choose(qtbot: QtBot, box: QComboBox, letters: str) -> None:
    """Choose from a list by the first letters of an entry.

    The first letter starts afresh; the others belong to it, however late a busy machine types them.
    """
    qtbot.keyClicks(box, letters[:1])
    interval = QApplication.keyboardInputInterval()
    QApplication.setKeyboardInputInterval(20_000)
    qtbot.keyClicks(box, letters[1:])
    QApplication.setKeyboardInputInterval(interval)


def retype(qtbot: QtBot, box: QLineEdit, text: str) -> None:
    """Click into a box, replace what is there, and leave it with Tab."""
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton)
    box.selectAll()
    if text:
        qtbot.keyClicks(box, text)
    else:
        qtbot.keyClick(box, Qt.Key.Key_Delete)
    qtbot.keyClick(box, Qt.Key.Key_Tab)


def put_in(qtbot: QtBot, box: QLineEdit, text: str) -> None:
    """Put a whole text into a box, as pasting does, and leave it with Tab."""
    box.setFocus()
    box.selectAll()
    box.insert(text)
    qtbot.keyClick(box, Qt.Key.Key_Tab)


def fill_in(
    qtbot: QtBot,
    window: MainWindow,
    sheet: dict[str, tuple[str, str]] = PAPER,
    hand: Callable[[QtBot, QLineEdit, str], None] = put_in,
) -> None:
    """Fill in a whole sheet of paper; with `retype` as the hand, key by key."""
    for path, (value, u) in sheet.items():
        row = window.hand.row(path)
        window.hand.scroller.ensureWidgetVisible(row)
        hand(qtbot, row.value, value)
        if u:
            hand(qtbot, row.u, u)


def drag(widget: QWidget, start: QPoint, stop: QPoint, steps: int = 8) -> None:
    """Press, move and release the left mouse button."""
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    points = [start + (stop - start) * k / steps for k in range(steps + 1)]
    _mouse(widget, QMouseEvent.Type.MouseMove, start, none, none)
    _mouse(widget, QMouseEvent.Type.MouseButtonPress, start, left, left)
    for point in points:
        # the plot library takes at most a hundred moves a second
        QTest.qWait(12)
        _mouse(widget, QMouseEvent.Type.MouseMove, point, none, left)
    _mouse(widget, QMouseEvent.Type.MouseButtonRelease, stop, left, none)
    QApplication.processEvents()


def at_rest(plot: SpectrogramPlot) -> None:
    """Wait until the plot has kept its size and its ranges for a fifth of a second.

    What arrives late, a picture or a second verdict, moves the plot under the hand.
    """
    seen: object = None
    kept = 0
    for _ in range(500):
        now = (plot.width(), plot.height(), plot.box.geometry(), plot.box.viewRange())
        kept = kept + 1 if now == seen else 0
        seen = now
        if kept == 10:
            return
        QTest.qWait(20)
    raise AssertionError("the plot never came to rest")


def at_plot(plot: SpectrogramPlot, time_s: float, pitch_hz: float) -> QPoint:
    """Return where a time and pitch lie on the plot's viewport, once it has come to rest."""
    at_rest(plot)
    scene = plot.box.mapViewToScene(QPointF(time_s, pitch_hz))
    return plot.mapFromScene(scene)


def wheel(widget: QWidget, notches: int) -> None:
    """Turn the wheel over a widget."""
    centre = QPointF(widget.rect().center())
    event = QWheelEvent(
        centre,
        QPointF(widget.mapToGlobal(centre.toPoint())),
        QPoint(0, 0),
        QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, event)


def drop(window: QWidget, paths: Sequence[Path]) -> None:
    """Drag files over the window and let go."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    place = window.rect().center()
    action, left = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
    plain = Qt.KeyboardModifier.NoModifier
    enter = QDragEnterEvent(place, action, data, left, plain)
    QApplication.sendEvent(window, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(window, QDropEvent(QPointF(place), action, data, left, plain))


def _mouse(
    widget: QWidget,
    kind: QMouseEvent.Type,
    point: QPoint,
    button: Qt.MouseButton,
    buttons: Qt.MouseButton,
) -> None:
    event = QMouseEvent(
        kind,
        QPointF(point),
        QPointF(widget.mapToGlobal(point)),
        button,
        buttons,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(widget, event)
