"""The window's one model: the session, what follows from it, and the work under way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoStack

from wayside.compare.result import Comparison
from wayside.errors import WaysideError
from wayside.hand.predict import Prediction
from wayside.hand.setup import Setup
from wayside.jobs import Job
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.session.hand_form import FormReading, fill_form, read_form
from wayside.session.media import fingerprint, locate
from wayside.session.session import Entry, MediaRef, Session, Windows
from wayside.sound.envelope import envelope
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import Picture, PictureRequest, draw
from wayside_app.window.edits import EditSession, HearRecording
from wayside_app.window.hints import measure_options
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.services import Services

LOAD, MEASURE, PICTURE, ENVELOPE = "load", "measure", "picture", "envelope"
AT_SOUND, AT_HAND, AT_VERDICT = "sound", "hand", "verdict"

_OVERVIEW_COLUMNS, _OVERVIEW_ROWS = 3000, 512
_OVERVIEW_STEP_S = 0.02
_SETTLE_MS = 400
_UNDO_STEPS = 200


@dataclass(frozen=True)
class Heard:
    """A recording that was read in, with its picture of the whole."""

    recording: Recording
    overview: Picture
    media: MediaRef


Drawer = Callable[[PictureRequest, Job], Picture]


def _draw(recording: Recording, request: PictureRequest, job: Job) -> Picture:
    return draw(recording, request, job)


class Bench(QObject):
    """Holds the state of one window.

    Signals
    -------
    session_changed()
        Any edit, undo or redo.
    recording_changed()
        Another recording, or none.
    measured(), predicted(), compared()
        The result (possibly None) is in the attribute of that name.
    picture_ready(Picture)
        A detailed picture asked for with `ask_picture`.
    envelope_ready(Envelope)
        A level asked for with `ask_envelope`.
    media_missing(media, sentence)
        A session's recording is not where it was.
    fault(place, sentence)
        Something went wrong at ``"sound"``, ``"hand"`` or ``"verdict"``; empty clears it.
    """

    session_changed = Signal()
    recording_changed = Signal()
    measured = Signal()
    predicted = Signal()
    compared = Signal()
    picture_ready = Signal(object)
    envelope_ready = Signal(object)
    media_missing = Signal(object, str)
    fault = Signal(str, str)

    def __init__(self, services: Services, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.services = services
        # one more than a search and a drawing, so that watching a film holds neither up
        self.runner = JobRunner(self, threads=3)
        self.undo_stack = QUndoStack(self)
        self.undo_stack.setUndoLimit(_UNDO_STEPS)
        self.session = Session()
        self.heard: Heard | None = None
        self.reading: FormReading = read_form(self.session)
        self.prediction: Prediction | None = None
        self.measurement: Measurement | None = None
        self.comparison: Comparison | None = None
        self._measured_with: MeasureOptions | None = None
        self._measure_fault = False
        self._visit = 0
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(_SETTLE_MS)
        self._settle.timeout.connect(self._measure_if_stale)

    # --- what the user does -------------------------------------------------------------

    def open_recording(self, path: Path, keep_windows: bool = False) -> None:
        """Read a recording or film in the background; the old one stays until it is read.

        Parameters
        ----------
        path : Path
        keep_windows : bool
            True when it is the session's own recording, found again somewhere else.
        """
        self._load(
            lambda job: self._read_in(path, job),
            lambda heard: self._take(heard, keep_windows=keep_windows),
        )

    def start_over(self, session: Session, folder: Path | None = None) -> None:
        """Make a session read from a file the state, without a way back to the old one.

        Parameters
        ----------
        session : Session
        folder : Path, optional
            Where the session file lies; its recording is looked for there too.
        """
        for kind in (LOAD, MEASURE, PICTURE, ENVELOPE):
            self.runner.drop(kind)
        self.undo_stack.clear()
        self.undo_stack.setClean()
        self.fault.emit(AT_SOUND, "")
        self.fault.emit(AT_HAND, "")
        self.put_recording(session, None)
        if session.media is not None:
            self._find_media(session.media, folder or Path.cwd())

    def open_sample(self, folder: Path) -> None:
        """Make the sample in a folder and open its recording and its set-up together."""
        self._load(
            lambda job: self._make_sample(folder, job),
            lambda sample: self._take(sample[1], setup=sample[0]),
        )

    def open_setup(self, path: Path) -> None:
        """Fill the form from a set-up file; a bad file leaves the form as it was."""
        try:
            setup = self.services.read_setup(path)
        except WaysideError as error:
            self.fault.emit(AT_HAND, str(error))
            return
        self.fault.emit(AT_HAND, "")
        name = self.tr("open set-up {file}").format(file=path.name)
        self._edit(name, self.session.with_hand(fill_form(setup)))

    def save_setup(self, path: Path) -> bool:
        """Write the form as a set-up file; False (with a fault shown) when it cannot be."""
        if self.reading.setup is None:
            self.fault.emit(
                AT_HAND,
                self.tr(
                    "The set-up is not complete yet, so it was not saved; "
                    "fill in what is still needed."
                ),
            )
            return False
        try:
            self.services.write_setup(self.reading.setup, path)
        except (WaysideError, OSError) as error:
            self.fault.emit(AT_HAND, str(error))
            return False
        self.fault.emit(AT_HAND, "")
        return True

    def type_entry(self, path: str, entry: Entry, label: str) -> None:
        """Take a keystroke in a field of the form."""
        if entry != self.session.entry(path):
            name = self.tr("change {field}").format(field=label)
            topic = f"{path} {self._visit}"
            self._edit(name, self.session.with_entry(path, entry), topic)

    def end_typing(self) -> None:
        """Let what is typed next be an undo step of its own."""
        self._visit += 1

    def choose(self, key: str, answer: str, name: str) -> None:
        """Take an answer to an either-or question of the form."""
        if self.session.choices.get(key) != answer:
            self._edit(name, self.session.with_choice(key, answer))

    def set_windows(self, windows: Windows, name: str, topic: str = "") -> None:
        """Take new reading windows."""
        if windows != self.session.windows:
            self._edit(name, self.session.with_windows(windows), topic)

    def ask_picture(self, request: PictureRequest, draw_it: Drawer | None = None) -> None:
        """Have a detailed picture drawn; `picture_ready` brings it.

        Parameters
        ----------
        request : PictureRequest
        draw_it : callable, optional
            ``draw_it(request, job) -> Picture``; the recording itself by default.
        """
        if self.heard is None:
            return
        by = draw_it or partial(_draw, self.heard.recording)
        self.runner.start(
            Task(
                PICTURE,
                partial(by, request),
                self.picture_ready.emit,
                partial(self._say_at, AT_SOUND),
            )
        )

    def ask_envelope(self, start_s: float, stop_s: float, columns: int) -> None:
        """Have the level of a stretch worked out; `envelope_ready` brings it."""
        if self.heard is None:
            return
        recording = self.heard.recording
        self.runner.start(
            Task(
                ENVELOPE,
                lambda job: envelope(recording, start_s, stop_s, columns, job),
                self.envelope_ready.emit,
                partial(self._say_at, AT_SOUND),
            )
        )

    def stop(self) -> None:
        """Stop reading and measuring, as the user asked."""
        self.runner.stop(LOAD)
        self.runner.stop(MEASURE)

    def measure_again(self) -> None:
        """Measure now, for example after the user stopped it."""
        self._measured_with = None
        self._measure_if_stale()

    def close(self) -> bool:
        """Stop all work and wait for it."""
        self._settle.stop()
        return self.runner.close()

    # --- what undo commands do ----------------------------------------------------------

    def put_session(self, session: Session) -> None:
        """Make `session` the state and work out what follows."""
        self.session = session
        self._read_form()
        self.session_changed.emit()
        self._compare()
        if self.heard is not None:
            self._settle.start()

    def put_recording(self, session: Session, heard: Heard | None) -> None:
        """Make `heard` the recording."""
        self.runner.drop(MEASURE)
        self.runner.drop(PICTURE)
        self.heard = heard
        self.measurement = None
        self._measured_with = None
        self.recording_changed.emit()
        self.measured.emit()
        self.put_session(session)
        self._settle.stop()
        self._measure_if_stale()

    # --- inside -------------------------------------------------------------------------

    def _edit(self, name: str, session: Session, topic: str = "") -> None:
        self.undo_stack.push(EditSession(self, name, session, topic))

    def _load(self, work: Callable[[Job], Any], done: Callable[[Any], None]) -> None:
        self.fault.emit(AT_SOUND, "")
        failed = partial(self._say_at, AT_SOUND)
        self.runner.start(Task(LOAD, work, done, failed))

    def _say_at(self, place: str, error: WaysideError) -> None:
        self.fault.emit(place, str(error))

    def _find_media(self, media: MediaRef, folder: Path) -> None:
        found = locate(media, folder)
        if found is None:
            sentence = self.tr("The recording {file} is no longer where it was; find it.")
            self.media_missing.emit(media, sentence.format(file=Path(media.path).name))
            return

        def take(heard: Heard) -> None:
            self.put_recording(self.session.with_media_found(heard.media), heard)
            if media.sha256 and heard.media.sha256 != media.sha256:
                sentence = self.tr(
                    "{file} is not the recording this session was made with: its content "
                    "differs. Check the reading windows, or find the right one."
                )
                self.media_missing.emit(media, sentence.format(file=found.path.name))

        self._load(lambda job: self._read_in(found.path, job), take)

    def _read_in(self, path: Path, job: Job) -> Heard:
        media = fingerprint(path, job.part(0.0, 0.1))
        recording = self.services.load(path, job.part(0.1, 0.8))
        request = PictureRequest(
            recording.start_s,
            recording.start_s + recording.duration_s,
            0.0,
            min(recording.rate_hz / 2.0, 6000.0),
            min(_OVERVIEW_COLUMNS, max(64, round(recording.duration_s / _OVERVIEW_STEP_S))),
            _OVERVIEW_ROWS,
            0.085,
        )
        return Heard(recording, draw(recording, request, job.part(0.8, 1.0)), media)

    def _make_sample(self, folder: Path, job: Job) -> tuple[Setup, Heard]:
        job.step(0.0, "Making the sample")
        try:
            recording, setup = self.services.make_sample(folder)
        except OSError as error:
            raise WaysideError(
                f"The sample cannot be made in {folder} ({error.strerror}); free some space there."
            ) from error
        return self.services.read_setup(setup), self._read_in(recording, job)

    def _take(self, heard: Heard, setup: Setup | None = None, keep_windows: bool = False) -> None:
        name = self.tr("open {file}").format(file=Path(heard.media.path).name)
        if keep_windows:
            session = self.session.with_media_found(heard.media)
        else:
            session = self.session.with_media(heard.media)
        if setup is not None:
            session = session.with_hand(fill_form(setup))
        self.undo_stack.push(HearRecording(self, name, session, heard))

    def _read_form(self) -> None:
        self.reading = read_form(self.session)
        self.prediction = None
        if self.reading.setup is not None:
            try:
                self.prediction = self.services.predict(self.reading.setup)
            except WaysideError as error:
                path = getattr(error, "field", "")
                faults = {**self.reading.faults, path: str(error)}
                self.reading = replace(self.reading, faults=faults)
        self.predicted.emit()

    def _measure_if_stale(self) -> None:
        if self.heard is None:
            return
        options = measure_options(self.session, self.reading)
        if options == self._measured_with:
            return
        self._measured_with = options
        recording = self.heard.recording
        if self._measure_fault:
            self._measure_fault = False
            self.fault.emit(AT_SOUND, "")
        self.runner.start(
            Task(
                MEASURE,
                lambda job: self.services.measure(recording, options, job),
                self._take_measurement,
                self._measure_failed,
                self._measure_stopped,
            )
        )

    def _take_measurement(self, measurement: Measurement) -> None:
        self.measurement = measurement
        self.measured.emit()
        self._compare()

    def _measure_failed(self, error: WaysideError) -> None:
        self.measurement = None
        self._measure_fault = True
        self.fault.emit(AT_SOUND, str(error))
        self.measured.emit()
        self._compare()

    def _measure_stopped(self) -> None:
        self._measured_with = None
        self.measured.emit()

    def _compare(self) -> None:
        self.comparison = None
        m = self.measurement
        if self.prediction is not None and m is not None and m.found:
            try:
                self.comparison = self.services.compare(self.prediction, m)
                self.fault.emit(AT_VERDICT, "")
            except WaysideError as error:
                self.fault.emit(AT_VERDICT, str(error))
        self.compared.emit()
