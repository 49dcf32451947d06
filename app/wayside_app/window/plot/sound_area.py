"""Area 2 as a whole: title, progress, plot, window numbers, and the invitation when empty."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wayside.session.session import Windows
from wayside.sound.spectrogram import sharpest_window_s
from wayside_app.window.banner import Banner
from wayside_app.window.bench import AT_SOUND, FETCH, LOAD, MEASURE, Bench
from wayside_app.window.controls import restyle, text_label
from wayside_app.window.hint_line import HintLine
from wayside_app.window.listen.listen_bar import ListenBar
from wayside_app.window.listen.player import Player
from wayside_app.window.plot.crossings import crossings_on_plot
from wayside_app.window.plot.curve_show import show_curves, show_straightened
from wayside_app.window.plot.description import describe
from wayside_app.window.plot.looker import Looker
from wayside_app.window.plot.rungs import rungs
from wayside_app.window.plot.spectrogram_plot import SpectrogramPlot
from wayside_app.window.plot.tools_row import RIDER, ToolsRow
from wayside_app.window.plot.under_plot import UnderPlot
from wayside_app.window.plot.views import pass_view
from wayside_app.window.plot.window_numbers import WindowNumbers
from wayside_app.window.theme.looks import LIGHT, Look
from wayside_app.window.words import said

_PLOT_PLACE = 1


class SoundArea(QFrame):
    """What the sound says.

    Signals
    -------
    open_wanted(), sample_wanted()
        The user asks for a recording.
    """

    open_wanted = Signal()
    sample_wanted = Signal()

    def __init__(
        self, bench: Bench, make_player: Callable[[], Player], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setProperty("part", "card")
        self._bench = bench
        self._look = LIGHT
        self._follows_pass = True
        self.title = text_label("title", self.tr("What the sound says"))
        self.file_name = text_label("quiet", "")
        self.file_name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.progress = QProgressBar(self)
        self.progress.setAccessibleName(self.tr("Progress"))
        self.progress.setRange(0, 1000)
        self.progress.setMinimumWidth(230)
        self.stop_button = QPushButton(self.tr("Stop"), self)
        self.again_button = QPushButton(self.tr("Measure again"), self)
        self.banner = Banner(self)
        self.hint = HintLine(
            self.tr("Drag a blue window to where the pitch is flat. Space plays the sound."), self
        )
        self.tools = ToolsRow(self)
        self.whole_button = QPushButton(self.tr("Whole recording"), self)
        self.pass_button = QPushButton(self.tr("The pass-by"), self)
        self.plot = SpectrogramPlot(self)
        self.under = UnderPlot(self.plot.box, self)
        self._looker = Looker(bench, self.plot, self.under, self.tools, self)
        self.numbers = WindowNumbers(self)
        self.listen_button = QPushButton(self.tr("Listen"), self)
        self.listen_button.setCheckable(True)
        self.listening = ListenBar(bench, make_player, self)
        self.listening.hide()
        self.invitation = Invitation(self)
        self.invitation.open_button.clicked.connect(self.open_wanted)
        self.invitation.sample_button.clicked.connect(self.sample_wanted)
        self._lay_out()
        self._connect()
        self._show_busy()
        self._show_recording()
        self._show_measurement()

    def _lay_out(self) -> None:
        number = text_label("number-sound", "2")
        head = QHBoxLayout()
        head.addWidget(number)
        head.addWidget(self.title)
        head.addSpacing(8)
        head.addWidget(self.file_name, 1)
        for part in (self.progress, self.stop_button, self.again_button):
            head.addWidget(part)
        for part in (self.listen_button, self.pass_button, self.whole_button):
            head.addWidget(part)
        self.page = QWidget(self)
        self._page_column = page = QVBoxLayout(self.page)
        page.setContentsMargins(0, 0, 0, 0)
        page.setSpacing(4)
        page.addWidget(self.tools)
        page.addWidget(self.plot, 1)
        page.addWidget(self.under)
        page.addWidget(self.numbers)
        page.addWidget(self.listening)
        self.pages = QStackedWidget(self)
        self.pages.addWidget(self.invitation)
        self.pages.addWidget(self.page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(12, 8, 12, 8)
        whole.setSpacing(6)
        whole.addLayout(head)
        whole.addWidget(self.banner)
        whole.addWidget(self.hint)
        whole.addWidget(self.pages, 1)

    def _connect(self) -> None:
        bench = self._bench
        bench.recording_changed.connect(self._show_recording)
        bench.measured.connect(self._show_measurement)
        bench.predicted.connect(self._show_curves)
        bench.session_changed.connect(self._show_windows)
        bench.session_changed.connect(self._show_busy)
        bench.fault.connect(self._show_fault)
        bench.runner.progress.connect(self._show_progress)
        bench.runner.busy_changed.connect(lambda *_: self._show_busy())
        self.plot.scale_changed.connect(self._show_curves)
        self.stop_button.clicked.connect(bench.stop)
        self.again_button.clicked.connect(bench.measure_again)
        self.whole_button.clicked.connect(self.show_whole)
        self.plot.moved_by_hand.connect(self._stay)
        self.pass_button.clicked.connect(self.show_pass)
        for which, item in (("approach", self.plot.approach), ("recede", self.plot.recede)):
            item.moved.connect(lambda span, w=which: self._window_moved(w, span))
            item.moving.connect(lambda span, w=which: self.numbers.preview(w, span))
        self.numbers.changed.connect(self._window_moved)
        self.listen_button.toggled.connect(self.listening.setVisible)
        self.listening.at.connect(self.plot.show_playing)
        self.listening.quiet.connect(self.plot.hide_playing)
        self.plot.play_wanted.connect(self.play)
        self.plot.box.sigXRangeChanged.connect(lambda *_: self._tell_place())
        self.plot.cursor_.moved.connect(lambda *_: self._tell_place())
        self.plot.cursor_.hidden.connect(self._tell_place)

    def set_look(self, look: Look, font: QFont) -> None:
        """Take colours and text size."""
        self._look = look
        self.tools.set_look(look, font)
        self.plot.set_look(look, font)
        left = self.plot.left_width(QFontMetrics(font))
        self.under.set_look(look, font, left, self.plot.right_width)
        self.numbers.set_look(font)

    def show_pass(self) -> None:
        """Show the stretch around the passing, and keep it in view as results come in."""
        self._follows_pass = True
        view = pass_view(self._bench.measurement, self._bench.prediction)
        if view is not None:
            self.plot.look_at(*view)

    def take_plot_back(self) -> None:
        """Put the plot, which was lent, back in its place."""
        self._page_column.insertWidget(_PLOT_PLACE, self.plot, 1)
        self.plot.setVisible(True)

    def play(self) -> None:
        """Play what is chosen, or stop; shows the bar for it."""
        self.listen_button.setChecked(True)
        self._tell_place()
        self.listening.toggle()

    def _tell_place(self) -> None:
        low, high = self.plot.box.viewRange()[0]
        cursor = self.plot.cursor_
        at = cursor.time_s if cursor.shown else None
        self.listening.set_place((low, high), at, shown_windows(self._bench))

    def show_whole(self) -> None:
        """Show the whole recording."""
        self._stay()
        self.plot.show_whole()

    def _stay(self) -> None:
        self._follows_pass = False

    # --- showing ------------------------------------------------------------------------

    def _show_recording(self) -> None:
        heard = self._bench.heard
        self.file_name.setText("" if heard is None else heard.recording.name)
        self._follows_pass = True
        self._show_busy()
        if heard is None:
            self.plot.clear_pictures()
        else:
            self.plot.show_overview(heard.overview)
            start = heard.recording.start_s
            self.numbers.set_limits(start, start + heard.recording.duration_s)

    def _show_measurement(self) -> None:
        m = self._bench.measurement
        self.pass_button.setEnabled(m is not None and m.fit is not None)
        self._show_windows()
        self._show_curves()
        if m is not None and m.fit is not None:
            p = m.fit.passby
            self.plot.sharpen(
                sharpest_window_s(p.source_hz * p.speed_mps**2 / (p.sound_speed_mps * p.closest_m))
            )
        self._show_busy()

    def _show_windows(self) -> None:
        spans = shown_windows(self._bench)
        self.plot.approach.set_span(spans.approach_s)
        self.plot.recede.set_span(spans.recede_s)
        self.numbers.show_windows(spans, self._bench.measurement)
        self._tell_place()

    def _show_curves(self) -> None:
        bench, m = self._bench, self._bench.measurement
        fit = m.fit if m is not None else None
        straight = self.tools.frame.currentData() == RIDER
        show = show_straightened if straight else show_curves
        show(self.plot.overlays, self.plot.scale_, m, bench.prediction)
        self.plot.overlays.show_crossings(crossings_on_plot(bench, straight))
        if self._follows_pass:
            self.show_pass()
        self.plot.show_rungs(rungs(bench.prediction, fit))
        self.plot.setAccessibleDescription(describe(m, bench.prediction))

    def _show_progress(self, kind: str, fraction: float, message: str) -> None:
        if kind in (LOAD, FETCH, MEASURE) and math.isfinite(fraction):
            self.progress.setValue(round(1000 * fraction))
            self.progress.setFormat(f"{said(message)}  %p %")

    def _show_busy(self) -> None:
        runner, bench = self._bench.runner, self._bench
        busy = any(runner.busy(kind) for kind in (LOAD, FETCH, MEASURE))
        if busy and not self.progress.isVisibleTo(self):
            self.progress.setValue(0)
            self.progress.setFormat(self.tr("Starting"))
        # while the recording of another run of the session is on its way, none is asked for
        there = bench.heard is not None or runner.busy(FETCH)
        self.pages.setCurrentWidget(self.page if there else self.invitation)
        self.progress.setVisible(busy)
        self.stop_button.setVisible(busy)
        for part in (self.listen_button, self.pass_button, self.whole_button):
            part.setVisible(not busy and bench.heard is not None)
        unmeasured = bench.session.media is not None and bench.measurement is None
        self.again_button.setVisible(not busy and unmeasured)

    def _show_fault(self, place: str, sentence: str) -> None:
        if place == AT_SOUND:
            self.banner.say(sentence)

    # --- edits --------------------------------------------------------------------------

    def _window_moved(self, which: str, span: tuple[float, float]) -> None:
        now = shown_windows(self._bench)
        if which == "approach":
            new = Windows(span, now.recede_s)
            name = self.tr("move the approach window")
        else:
            new = Windows(now.approach_s, span)
            name = self.tr("move the recede window")
        self._bench.set_windows(new, name)


def shown_windows(bench: Bench) -> Windows:
    """Return the reading windows to show: set by hand, else those the program chose."""
    mine = bench.session.windows
    two = bench.measurement.two_window if bench.measurement is not None else None
    if two is None:
        return mine
    return Windows(
        mine.approach_s or (two.approach.start_s, two.approach.stop_s),
        mine.recede_s or (two.recede.start_s, two.recede.stop_s),
    )


class Invitation(QFrame):
    """The empty state: says what to do, and is where a file is dropped."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "dropzone")
        self.headline = text_label("invite", self.tr("Drop a film or a recording here"), wrap=True)
        self.headline.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.advice = text_label(
            "advice",
            self.tr(
                "A phone's own film will do (MP4, MOV), or a sound file (WAV, FLAC, MP3, M4A, "
                "OGG). The pass-by is found and measured by itself; the form may stay empty."
            ),
            wrap=True,
        )
        self.advice.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.open_button = QPushButton(self.tr("Open a recording or film …"), self)
        self.open_button.setProperty("part", "main")
        self.sample_button = QPushButton(self.tr("Try the sample"), self)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self.open_button)
        buttons.addWidget(self.sample_button)
        buttons.addStretch(1)
        box = QVBoxLayout(self)
        box.setContentsMargins(24, 24, 24, 24)
        box.setSpacing(14)
        box.addStretch(2)
        box.addWidget(self.headline)
        middle = QHBoxLayout()
        middle.addStretch(1)
        middle.addWidget(self.advice, 4)
        middle.addStretch(1)
        box.addLayout(middle)
        box.addLayout(buttons)
        box.addStretch(3)

    def set_hot(self, hot: bool) -> None:
        """Show that letting go here drops the file."""
        restyle(self, hot=hot)
