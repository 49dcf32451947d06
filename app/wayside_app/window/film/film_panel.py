"""The film as a whole: picture, time band, findings, and the markers beside them."""

from __future__ import annotations

import math
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QFont, QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QFileDialog,
    QHBoxLayout,
    QLineEdit,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from wayside.film.film import open_film
from wayside.film.together import Heard, Together, put_together
from wayside.measure.options import DEFAULT_SOUND_SPEED
from wayside_app.window import figures
from wayside_app.window.banner import Banner
from wayside_app.window.bench import Bench
from wayside_app.window.film import keys
from wayside_app.window.film.desk import FilmDesk, film_path
from wayside_app.window.film.film_source import OPEN, FilmSource, Opener
from wayside_app.window.film.findings import Findings
from wayside_app.window.film.keys import Stroke, stroke_of
from wayside_app.window.film.offers import Offers
from wayside_app.window.film.picture_view import PictureView
from wayside_app.window.film.side_column import SideColumn
from wayside_app.window.film.time_band import BandMark, TimeBand
from wayside_app.window.film.transport import Transport
from wayside_app.window.film.waiting import Waiting
from wayside_app.window.theme.looks import Look
from wayside_app.window.words import said

_FAR_PX = 10.0


class FilmPanel(QWidget):
    """Steps through the film and marks crossings in it.

    Signals
    -------
    back_wanted()
        The user has done with the film.
    """

    back_wanted = Signal()

    def __init__(
        self, bench: Bench, parent: QWidget | None = None, opener: Opener = open_film
    ) -> None:
        super().__init__(parent)
        self._bench = bench
        self.source = FilmSource(bench.runner, self, opener)
        self.desk = FilmDesk(bench, self.source, self)
        self.offers = Offers(self.desk, bench.runner, self)
        self.together: Together | None = None
        self._followed: Path | None = None
        self._stale = True
        self.banner = Banner(self)
        self.view = PictureView(self.desk, self.offers, self)
        self.transport = Transport(self.desk, self)
        self.band = TimeBand(self.desk, self)
        self.findings = Findings(self.desk, self)
        self.side = SideColumn(self.desk, self.offers, bench.runner, self)
        self.waiting = Waiting(self)
        self._lay_out()
        self._connect()
        self._show_film()

    def _lay_out(self) -> None:
        self.stack = QStackedWidget(self)
        self.stack.addWidget(self.waiting)
        self.stack.addWidget(self.view)
        left = QVBoxLayout()
        left.setSpacing(5)
        left.addWidget(self.banner)
        left.addWidget(self.stack, 1)
        left.addWidget(self.transport)
        left.addWidget(self.band)
        left.addWidget(self.findings)
        whole = QHBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(10)
        whole.addLayout(left, 1)
        whole.addWidget(self.side)

    def _connect(self) -> None:
        bench, desk = self._bench, self.desk
        self.source.opened.connect(self._show_film)
        self.source.failed.connect(self._failed)
        self.source.frame_failed.connect(self.banner.say)
        self.source.shown.connect(lambda _: self._describe())
        desk.marks_changed.connect(self._show_marks)
        desk.frame_changed.connect(self._describe)
        bench.measured.connect(self._show_marks)
        bench.measured.connect(self._show_sound)
        bench.recording_changed.connect(self._show_sound)
        bench.session_changed.connect(self._follow_recording)
        bench.runner.progress.connect(self._show_progress)
        self.findings.go.clicked.connect(self.go_to_passing)
        self.side.new_wanted.connect(self.new_line)
        self.waiting.stop.clicked.connect(lambda: bench.runner.stop(OPEN))
        self.waiting.again.clicked.connect(self.open_now)
        for button in (self.waiting.choose, self.side.about.choose):
            button.clicked.connect(self.ask_film)
        self.side.about.own.clicked.connect(lambda: desk.use_film(None))

    def set_look(self, look: Look, font: QFont) -> None:
        """Take the colours and the text size."""
        self.view.set_look(look, font)
        self.band.set_look(look, font)
        self.transport.set_look(font)
        self.side.set_look(font)

    # --- the film -----------------------------------------------------------------------

    def open_now(self) -> None:
        """Open the film of the session, if it is not open already."""
        path = film_path(self._bench)
        if path is None:
            self.waiting.say(
                self.tr("There is no film yet. Open one as the recording, or choose one here.")
            )
        elif self.source.path != path:
            self._followed = path
            self.waiting.begin(path)
            self.stack.setCurrentWidget(self.waiting)
            self.source.open(path)

    def ask_film(self) -> None:
        """Let the user choose a film for its pictures; the recording stays."""
        now = film_path(self._bench)
        path, _ = QFileDialog.getOpenFileName(
            self,
            self.tr("Choose a film"),
            str(Path.home() if now is None else now.parent),
            self.tr("All files (*)"),
        )
        if path:
            self.desk.use_film(Path(path))

    def close_film(self) -> None:
        """Let go of the film."""
        self.offers.clear()
        self.source.close()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self._stale:
            self._show_marks()
        self.open_now()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.offers.stop()

    def _follow_recording(self) -> None:
        path = film_path(self._bench)
        if path == self._followed:
            return
        self._followed = path
        self.close_film()
        if self.isVisible():
            self.open_now()

    def _failed(self, sentence: str) -> None:
        self.waiting.say(sentence or self.tr("The film was not opened."), again=True)
        self.stack.setCurrentWidget(self.waiting)

    def _show_film(self) -> None:
        film = self.source.film
        self.stack.setCurrentWidget(self.waiting if film is None else self.view)
        self.band.show_film(None if film is None else film.times)
        self._show_sound()
        info = None if film is None else film.info
        self.banner.say("" if info is None else " ".join(said(s.sentence) for s in info.suspicions))
        if info is not None and info.suspicions:
            self.side.rate.head.setChecked(True)
        self.side.about.show_info(info, self._bench.session.film_file is None)
        self._show_marks()
        if film is not None and self.isVisible():
            self.view.setFocus()

    def _show_sound(self) -> None:
        heard, m = self._bench.heard, self._bench.measurement
        fit = None if m is None else m.fit
        pitches = None if fit is None else (fit.recede_hz.value, fit.approach_hz.value)
        self.band.show_sound(None if heard is None else heard.overview, pitches)

    def _show_progress(self, kind: str, fraction: float, message: str) -> None:
        if kind == OPEN and math.isfinite(fraction):
            self.waiting.progress.setValue(round(1000 * fraction))

    # --- marks --------------------------------------------------------------------------

    def _show_marks(self) -> None:
        # what nobody sees is caught up with when it is shown
        self._stale = not self.isVisible()
        if self._stale:
            return
        self.together = self._put_together()
        reading = self.desk.reading
        self.side.show_all(self.together)
        self.findings.show_all(reading, self.together)
        marks = []
        for k, marker in enumerate(self.desk.marks.markers):
            crossing = None if reading is None else reading.markers[k].crossing
            before, after = (None if s is None else s.time_s for s in (marker.before, marker.after))
            time = None if crossing is None else crossing.time
            marks.append(BandMark(k + 1, before, after, time))
        together = self.together
        self.band.show_marks(marks, None if together is None else together.passing_seen)
        self._describe()

    def _put_together(self) -> Together | None:
        film, reading, bench = self.source.film, self.desk.reading, self._bench
        if film is None or reading is None:
            return None
        fit = None if bench.measurement is None else bench.measurement.fit
        heard = None if fit is None else Heard(fit.passing_time_s, fit.speed_mps, fit.closest_m)
        sound_speed = bench.reading.sound_speed or DEFAULT_SOUND_SPEED
        return put_together(
            self.desk.marks,
            reading,
            film.times,
            heard,
            sound_speed,
            bench.reading.closest,
            apart=bench.session.film_file is not None,
        )

    def _describe(self) -> None:
        """Say in one sentence what the picture shows, for people who do not see it."""
        film = self.source.film
        if film is None:
            self.view.setAccessibleDescription(self.tr("No film is open."))
            return
        text = self.tr("Frame {k} of {n} at {t} s").format(
            k=self.desk.index + 1, n=len(film.times), t=figures.plain(self.desk.time_s, 4)
        )
        reading = self.desk.reading
        for k, told in enumerate(() if reading is None else reading.markers):
            if told.crossing is not None:
                text += self.tr("; marker {n} crossed at {t}").format(
                    n=k + 1, t=figures.full(told.crossing.time)
                )
        self.view.setAccessibleDescription(text + ".")
        self.band.setAccessibleDescription(text + ".")

    def new_line(self) -> None:
        """Lay a new marker line in the middle of what is seen."""
        if self.source.film is not None:
            self.desk.add_marker(self.view.new_line())
            self.view.setFocus()

    def go_to_passing(self) -> None:
        """Go to the frame in which the passing found in the sound is seen."""
        if self.together is not None and self.together.passing_seen is not None:
            self.desk.go_to_time(self.together.passing_seen.value)

    # --- keys ---------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        stroke = stroke_of(event)
        typing = isinstance(QApplication.focusWidget(), QLineEdit | QAbstractSpinBox)
        deaf = typing or self.source.film is None
        if stroke is None or (deaf and stroke.action != keys.DROP):
            super().keyPressEvent(event)
            return
        self._act(stroke)
        event.accept()

    def _act(self, stroke: Stroke) -> None:
        desk, x, y = self.desk, stroke.x, stroke.y
        step = 1.0 if desk.fineness_px >= 0.5 else 0.25
        acts = {
            keys.FRAME: lambda: desk.step(x),
            keys.SECOND: lambda: desk.step_s(x),
            keys.ENDS: lambda: desk.go_to_end(x),
            keys.BEFORE: lambda: desk.mark("before"),
            keys.AFTER: lambda: desk.mark("after"),
            keys.FLIP: self._flip,
            keys.SPOT: desk.begin_spot,
            keys.NEW: self.new_line,
            keys.PICK: lambda: desk.cycle(x - 1),
            keys.MOVE: lambda: desk.nudge(step * x, step * y),
            keys.MOVE_FAR: lambda: desk.nudge(_FAR_PX * x, _FAR_PX * y),
            keys.REMOVE: desk.remove_marker,
            keys.ZOOM: lambda: self.view.zoom(x),
            keys.WHOLE: self.view.show_whole,
            keys.PAN: lambda: self.view.pan(x, y),
            keys.PROPOSE: self.offers.search,
            keys.CONFIRM: self._confirm,
            keys.DROP: self._drop,
            keys.PASSING: self.go_to_passing,
        }
        acts[stroke.action]()

    def _flip(self) -> None:
        if not self.offers.flip():
            self.desk.flip()

    def _confirm(self) -> None:
        if self.desk.pending is not None:
            self.desk.set_spot()
        else:
            self.offers.take()

    def _drop(self) -> None:
        if not self.desk.drop_pending() and not self.offers.drop():
            self.back_wanted.emit()
