"""What is known about every run: its recording's content, what was measured, and its row.

Results are kept by stamp (recording, options, program), so that undo finds the old result again
and nothing is measured twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from wayside.compare.result import Comparison
from wayside.errors import WaysideError
from wayside.hand.predict import Prediction
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.review.row import RunRow, failed_row, run_row
from wayside.session.hand_form import FormReading, read_form
from wayside.session.kept import stamp
from wayside.session.run import MediaRef, Run
from wayside.session.session import Session, session_of
from wayside_app.window.hints import measure_options
from wayside_app.window.services import Services

_MOST_RESULTS = 2000


@dataclass(frozen=True)
class ByHand:
    """What the hand says of a run.

    Parameters
    ----------
    reading : FormReading
    options : MeasureOptions
        How its recording is to be measured.
    """

    reading: FormReading
    options: MeasureOptions


@dataclass(frozen=True)
class Seen:
    """A run's row and what it was made from."""

    row: RunRow
    prediction: Prediction | None
    measurement: Measurement | None
    comparison: Comparison | None


@dataclass(frozen=True)
class _Fault:
    media: MediaRef | None
    options: MeasureOptions
    sentence: str


class RunStore:
    """Keeps results and rows; works out a row only when its run changed."""

    def __init__(self, services: Services) -> None:
        self._services = services
        self._results: dict[str, Measurement] = {}
        self._contents: dict[str, MediaRef] = {}
        self._faults: dict[int, _Fault] = {}
        self._hands: dict[int, tuple[Run, ByHand]] = {}
        self._seen: dict[int, tuple[tuple[object, ...], Seen]] = {}

    def start_over(self, results: Mapping[str, Measurement]) -> None:
        """Forget everything but the results of a session file."""
        self._results = dict(results)
        self._contents, self._faults, self._hands, self._seen = {}, {}, {}, {}

    # --- recordings -----------------------------------------------------------------------

    def learn(self, media: MediaRef) -> None:
        """Remember the content of a file that was read."""
        self._contents[media.path] = media

    def identity(self, media: MediaRef | None) -> MediaRef | None:
        """Return a recording with its content, as far as it is known."""
        if media is None or media.sha256:
            return media
        return self._contents.get(media.path, media)

    def with_contents(self, session: Session) -> Session:
        """Return the session as it is to be saved, contents of recordings filled in."""
        runs = tuple(replace(run, media=self.identity(run.media)) for run in session.runs)
        return replace(session, runs=runs)

    # --- results --------------------------------------------------------------------------

    def by_hand(self, run: Run) -> ByHand:
        """Return what the hand says of a run."""
        known = self._hands.get(run.key)
        if known is not None and known[0] is run:
            return known[1]
        session = session_of(run)
        reading = read_form(session)
        hand = ByHand(reading, measure_options(session, reading))
        self._hands[run.key] = (run, hand)
        return hand

    def result(self, media: MediaRef | None, options: MeasureOptions) -> Measurement | None:
        """Return what was measured in a recording with these options, if it was."""
        return self._results.get(stamp(self.identity(media), options))

    def keep(self, media: MediaRef, options: MeasureOptions, measurement: Measurement) -> None:
        """Keep a result."""
        self._results[stamp(media, options)] = measurement
        while len(self._results) > _MOST_RESULTS:
            del self._results[next(iter(self._results))]

    def measured(self, run: Run) -> tuple[str, Measurement] | None:
        """Return stamp and result of a run, for its session file."""
        mark = stamp(self.identity(run.media), self.by_hand(run).options)
        found = self._results.get(mark)
        return None if found is None else (mark, found)

    # --- faults ---------------------------------------------------------------------------

    def note_fault(self, run: Run, options: MeasureOptions, sentence: str) -> None:
        """Remember why a run could not be measured."""
        self._faults[run.key] = _Fault(run.media, options, sentence)

    def fault(self, run: Run) -> str:
        """Return why a run as it is now could not be measured; empty if nothing is known."""
        fault = self._faults.get(run.key)
        if fault is None or fault.media != run.media:
            return ""
        return fault.sentence if fault.options == self.by_hand(run).options else ""

    def forget_faults(self) -> None:
        """Let every run be tried again."""
        self._faults = {}

    def wanting(self, run: Run) -> bool:
        """Tell whether a run has a recording that is not measured yet and did not fail."""
        if run.media is None or self.fault(run):
            return False
        return self.result(run.media, self.by_hand(run).options) is None

    # --- rows -----------------------------------------------------------------------------

    def is_ready(self, session: Session, at: int) -> bool:
        """Tell whether a row is there without working anything out."""
        run = session.runs[at]
        known = self._seen.get(run.key)
        return known is not None and known[0][0] is run

    def seen(self, session: Session, at: int) -> Seen:
        """Return a run's row with what it was made from."""
        run = session.runs[at]
        hand = self.by_hand(run)
        measurement = self.result(run.media, hand.options)
        fault, name = self.fault(run), unique_title(session, at)
        state = (run, measurement, fault, name)
        known = self._seen.get(run.key)
        if known is not None and _same(known[0], state):
            return known[1]
        seen = self._look(run, hand, measurement, fault, name)
        self._seen[run.key] = (state, seen)
        return seen

    def _look(
        self, run: Run, hand: ByHand, measurement: Measurement | None, fault: str, name: str
    ) -> Seen:
        comparison, sentence = None, fault
        prediction = self._predict(hand.reading)
        if prediction is not None and measurement is not None and measurement.found:
            try:
                comparison = self._services.compare(prediction, measurement)
            except WaysideError as error:
                sentence = str(error)
        if fault and measurement is None:
            row = failed_row(name, fault, prediction, run.group, run.direction)
        else:
            row = run_row(name, measurement, prediction, comparison, run.group, run.direction)
            row = replace(row, sentence=row.sentence or sentence)
        return Seen(row, prediction, measurement, comparison)

    def _predict(self, reading: FormReading) -> Prediction | None:
        if reading.setup is None:
            return None
        try:
            return self._services.predict(reading.setup)
        except WaysideError:
            # the form says at its own field what is wrong
            return None


def unique_title(session: Session, at: int) -> str:
    """Return what to call a run, with a number where an earlier run has the same name."""
    title = session.title(at)
    before = sum(session.title(k) == title for k in range(at))
    return f"{title} ({before + 1})" if before else title


def _same(a: tuple[object, ...], b: tuple[object, ...]) -> bool:
    return a[0] is b[0] and a[1] is b[1] and a[2:] == b[2:]
