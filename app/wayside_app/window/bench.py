"""The window's one model: the session, what follows from it, and the work under way."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
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
from wayside.session.media import locate
from wayside.session.run import Run
from wayside.session.session import Entry, MediaRef, Session, Windows
from wayside.sound.envelope import envelope
from wayside.sound.recording import Recording
from wayside.sound.spectrogram import Picture, PictureRequest, draw
from wayside_app.window.edits import EditSession
from wayside_app.window.heard import Heard, Shelf, read_in
from wayside_app.window.hints import measure_options
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.runs.rest import PLACES, Rest
from wayside_app.window.runs.store import RunStore
from wayside_app.window.services import Services
from wayside_app.window.words import said

LOAD, FETCH, MEASURE, PICTURE, ENVELOPE = "load", "fetch", "measure", "picture", "envelope"
AT_SOUND, AT_HAND, AT_VERDICT = "sound", "hand", "verdict"

_SETTLE_MS = 400
_UNDO_STEPS = 200


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
    recording_opened()
        The user opened one, or a session.
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
    recording_opened = Signal()
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
        # one more than a search and a drawing, so that watching a film holds neither up, and
        # one for each of the runs that are not shown
        self.runner = JobRunner(self, threads=3 + PLACES)
        self.undo_stack = QUndoStack(self)
        self.undo_stack.setUndoLimit(_UNDO_STEPS)
        self.session = Session()
        self.runs = RunStore(services)
        self.rest = Rest(services, self.runs, self.runner, lambda: self.session, self)
        self.heard: Heard | None = None
        self.reading: FormReading = read_form(self.session)
        self.prediction: Prediction | None = None
        self.measurement: Measurement | None = None
        self.comparison: Comparison | None = None
        self._shelf = Shelf()
        self._folder = Path.cwd()
        self._put: tuple[int, MediaRef | None] = (self.session.run.key, None)
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
        key = self.session.run.key
        self._load(
            lambda job: read_in(self.services, path, job),
            lambda heard: self._take(key, heard, keep_windows=keep_windows),
        )

    def start_over(
        self,
        session: Session,
        folder: Path | None = None,
        results: Mapping[str, Measurement] | None = None,
    ) -> None:
        """Make a session read from a file the state, without a way back to the old one.

        Parameters
        ----------
        session : Session
        folder : Path, optional
            Where the session file lies; its recordings are looked for there too.
        results : mapping of str to Measurement, optional
            What was measured in them, by stamp.
        """
        for kind in (LOAD, FETCH, MEASURE, PICTURE, ENVELOPE):
            self.runner.drop(kind)
        self.undo_stack.clear()
        self.undo_stack.setClean()
        self.fault.emit(AT_SOUND, "")
        self.fault.emit(AT_HAND, "")
        self.set_folder(folder or Path.cwd())
        # a session that is opened looks at its files anew
        self._shelf = Shelf()
        self.runs.start_over(results or {})
        self.rest.start_over(self._folder)
        self._put = (0, None)
        self.put_session(session)
        self.recording_opened.emit()

    def set_folder(self, folder: Path) -> None:
        """Look for recordings that are not where they were in this folder too."""
        self._folder = self.rest.folder = folder

    def open_sample(self, folder: Path) -> None:
        """Make the sample in a folder and open its recording and its set-up together."""
        key = self.session.run.key
        self._load(
            lambda job: self._make_sample(folder, job),
            lambda sample: self._take(key, sample[1], setup=sample[0]),
        )

    def open_setup(self, path: Path) -> None:
        """Fill the form from a set-up file; a bad file leaves the form as it was."""
        try:
            setup = self.services.read_setup(path)
        except WaysideError as error:
            self.fault.emit(AT_HAND, said(str(error)))
            return
        self.fault.emit(AT_HAND, "")
        name = self.tr("open set-up {file}").format(file=path.name)
        self.edit(name, self.session.with_hand(fill_form(setup)))

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
            self.fault.emit(AT_HAND, said(str(error)))
            return False
        self.fault.emit(AT_HAND, "")
        return True

    def type_entry(self, path: str, entry: Entry, label: str) -> None:
        """Take a keystroke in a field of the form."""
        if entry != self.session.entry(path):
            name = self.tr("change {field}").format(field=label)
            topic = f"{path} {self._visit}"
            self.edit(name, self.session.with_entry(path, entry), topic)

    def end_typing(self) -> None:
        """Let what is typed next be an undo step of its own."""
        self._visit += 1

    def choose(self, key: str, answer: str, name: str) -> None:
        """Take an answer to an either-or question of the form."""
        if self.session.choices.get(key) != answer:
            self.edit(name, self.session.with_choice(key, answer))

    def set_windows(self, windows: Windows, name: str, topic: str = "") -> None:
        """Take new reading windows."""
        if windows != self.session.windows:
            self.edit(name, self.session.with_windows(windows), topic)

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
        for kind in (LOAD, FETCH, MEASURE):
            self.runner.stop(kind)
        self.rest.stop()

    def measure_again(self) -> None:
        """Measure now, for example after the user stopped it."""
        self._measured_with = None
        media = self.runs.identity(self.session.media)
        if self.heard is None and media is not None:
            self.fault.emit(AT_SOUND, "")
            self._find_media(self.session.run, media)
        self._measure_if_stale()
        self.rest.go_on()

    def close(self) -> bool:
        """Stop all work and wait for it."""
        self._settle.stop()
        ended = self.runner.close()
        self.services.close()
        return ended

    def edit(self, name: str, session: Session, topic: str = "") -> None:
        """Make another session the state, as an undo step; neighbours of one topic merge."""
        self.undo_stack.push(EditSession(self, name, session, topic))

    # --- what undo commands do ----------------------------------------------------------

    def put_session(self, session: Session) -> None:
        """Make `session` the state and work out what follows."""
        run = session.run
        before, self._put = self._put, (run.key, run.media)
        another = before != self._put
        if another:
            self._put_recording(run)
        self.session = session
        self._read_form()
        self.session_changed.emit()
        if another:
            self._settle.stop()
        else:
            self._settle.start()
        if not another or not self._measure_if_stale():
            self._compare()
        self.rest.changed.emit()

    def keep_at_hand(self, heard: Heard) -> None:
        """Have a recording ready for when a session with it is put."""
        self._shelf.put(heard)
        self.runs.learn(heard.media)

    def _put_recording(self, run: Run) -> None:
        for kind in (FETCH, MEASURE, PICTURE, ENVELOPE):
            self.runner.drop(kind)
        media = self.runs.identity(run.media)
        self.heard = None if media is None else self._shelf.find(media)
        self.measurement = None
        self._measure_fault = False
        self.fault.emit(AT_SOUND, "")
        self._measured_with = None
        if media is not None and self.heard is None:
            self._find_media(run, media)
        self.recording_changed.emit()
        self.measured.emit()

    # --- inside -------------------------------------------------------------------------

    def _load(self, work: Callable[[Job], Any], done: Callable[[Any], None]) -> None:
        self.fault.emit(AT_SOUND, "")
        failed = partial(self._say_at, AT_SOUND)
        self.runner.start(Task(LOAD, work, done, failed))

    def _say_at(self, place: str, error: WaysideError) -> None:
        self.fault.emit(place, said(str(error)))

    def _find_media(self, run: Run, media: MediaRef) -> None:
        """Read in the recording of the run that is shown."""
        found = locate(media, self._folder)
        if found is None:
            sentence = self.tr("The recording {file} is no longer where it was; find it.")
            self.media_missing.emit(media, sentence.format(file=Path(media.path).name))
            return

        def take(heard: Heard) -> None:
            self.keep_at_hand(heard)
            session = self.session
            changed = bool(media.sha256) and heard.media.sha256 != media.sha256
            if changed or heard.media.path != media.path:
                session = session.with_media_found(heard.media)
            self._put = (run.key, session.media)
            self.heard = heard
            self.recording_changed.emit()
            self.measured.emit()
            self.put_session(session)
            self._measure_if_stale()
            if changed:
                sentence = self.tr(
                    "{file} is not the recording this session was made with: its content "
                    "differs. Check the reading windows, or find the right one."
                )
                self.media_missing.emit(media, sentence.format(file=found.path.name))

        def fail(error: WaysideError) -> None:
            self.runs.note_fault(run, self.runs.by_hand(run).options, str(error))
            self._say_at(AT_SOUND, error)
            self.rest.changed.emit()

        self.runner.start(
            Task(FETCH, lambda job: read_in(self.services, found.path, job), take, fail)
        )

    def _make_sample(self, folder: Path, job: Job) -> tuple[Setup, Heard]:
        job.step(0.0, "Making the sample")
        try:
            recording, setup = self.services.make_sample(folder)
        except OSError as error:
            raise WaysideError(
                f"The sample cannot be made in {folder} ({error.strerror}); free some space there."
            ) from error
        return self.services.read_setup(setup), read_in(self.services, recording, job)

    def _take(
        self, key: int, heard: Heard, setup: Setup | None = None, keep_windows: bool = False
    ) -> None:
        """Put a recording that was opened into the run it was opened for."""
        place = self.session.place(key)
        if place is None:
            return
        name = self.tr("open {file}").format(file=Path(heard.media.path).name)
        session = self.session.showing(place)
        if keep_windows:
            session = session.with_media_found(heard.media)
        else:
            session = session.with_media(heard.media)
        if setup is not None:
            session = session.with_hand(fill_form(setup))
        self.keep_at_hand(heard)
        held = [h for h in (self.heard, heard) if h is not None]
        self.undo_stack.push(EditSession(self, name, session, held=held))
        self.recording_opened.emit()

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

    def _measure_if_stale(self) -> bool:
        """Measure if need be; True when a result was at hand, which is then compared."""
        options = measure_options(self.session, self.reading)
        media = self.session.media if self.heard is None else self.heard.media
        taken = False
        if media is not None and options != self._measured_with:
            taken = self._measure(self.runs.identity(media) or media, options)
        self.rest.look()
        return taken

    def _measure(self, media: MediaRef, options: MeasureOptions) -> bool:
        known = self.runs.result(media, options)
        if known is not None:
            self.runner.drop(MEASURE)
            self._measured_with = options
            self._take_measurement(known)
            return True
        if self.heard is None:
            return False
        self._measured_with = options
        recording, run = self.heard.recording, self.session.run
        if self._measure_fault:
            self._measure_fault = False
            self.fault.emit(AT_SOUND, "")

        def done(measurement: Measurement) -> None:
            self.runs.keep(media, options, measurement)
            self._take_measurement(measurement)

        def failed(error: WaysideError) -> None:
            self.runs.note_fault(run, options, str(error))
            self._measure_failed(error)

        self.runner.start(
            Task(
                MEASURE,
                lambda job: self.services.measure(recording, options, job),
                done,
                failed,
                self._measure_stopped,
            )
        )
        return False

    def _take_measurement(self, measurement: Measurement) -> None:
        self.measurement = measurement
        self.measured.emit()
        self._compare()
        self.rest.changed.emit()

    def _measure_failed(self, error: WaysideError) -> None:
        self.measurement = None
        self._measure_fault = True
        self.fault.emit(AT_SOUND, said(str(error)))
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
                self.fault.emit(AT_VERDICT, said(str(error)))
        self.compared.emit()
