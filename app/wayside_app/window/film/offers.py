"""Proposed crossings: looked for in the background, shown one by one, used only when taken."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal

from wayside.errors import WaysideError
from wayside.film.geometry import Line
from wayside.film.proposals import Proposal, ProposalList, propose_crossings
from wayside.jobs import Job
from wayside_app.window.film.desk import FilmDesk
from wayside_app.window.jobs import JobRunner, Task
from wayside_app.window.words import said

PROPOSE = "film proposals"


@dataclass(frozen=True)
class Offer:
    """One proposal for one marker.

    Parameters
    ----------
    marker : int
        Number of the marker from 0.
    line : Line
        Where its line was when it was watched.
    proposal : Proposal
    number, of : int
        Its place among the proposals for this marker, from 1.
    """

    marker: int
    line: Line
    proposal: Proposal
    number: int
    of: int


class Offers(QObject):
    """Asks for proposals and leads through them.

    Signals
    -------
    changed()
        Another offer is shown, or none; or the search began or ended.
    fault(sentence)
        Nothing could be proposed; empty clears it.
    """

    changed = Signal()
    fault = Signal(str)

    def __init__(self, desk: FilmDesk, runner: JobRunner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._runner = runner
        self._queue: tuple[Offer, ...] = ()
        desk.marks_changed.connect(self._drop_stale)
        desk.source.opened.connect(self.clear)

    @property
    def current(self) -> Offer | None:
        """The offer that is shown."""
        return self._queue[0] if self._queue else None

    @property
    def searching(self) -> bool:
        """Tell whether the film is being watched."""
        return self._runner.busy(PROPOSE)

    def search(self) -> None:
        """Watch the film along the lines of all markers that have no crossing yet."""
        film, markers = self._desk.source.film, self._desk.marks.markers
        if film is None:
            return
        if not markers:
            self.fault.emit(
                self.tr(
                    "Lay a marker line first (N, or double-click the picture), over the height at "
                    "which the watched point passes."
                )
            )
            return
        lacking = [k for k, m in enumerate(markers) if m.before is None or m.after is None]
        wanted = lacking or list(range(len(markers)))
        lines = [markers[k].line for k in wanted]
        self.clear()

        def work(job: Job) -> list[ProposalList]:
            return propose_crossings(film, lines, job=job)

        self._runner.start(
            Task(
                PROPOSE,
                work,
                lambda found: self._take(wanted, lines, found),
                self._fail,
                self.changed.emit,
            )
        )
        self.changed.emit()

    def stop(self) -> None:
        """Stop watching the film."""
        self._runner.stop(PROPOSE)

    def clear(self) -> None:
        """Forget every offer."""
        self._runner.drop(PROPOSE)
        self.fault.emit("")
        self._put(())

    def take(self) -> bool:
        """Take the offer shown as the marker's crossing; False if there is none."""
        offer = self.current
        if offer is None:
            return False
        self._put(tuple(o for o in self._queue if o.marker != offer.marker))
        p = offer.proposal
        name = self.tr("take the proposed crossing of marker {n}").format(n=offer.marker + 1)
        self._desk.take_crossing(offer.marker, p.before, p.after, name)
        self._show()
        return True

    def drop(self) -> bool:
        """Drop the offer shown and go to the next; False if there is none."""
        if self.current is None:
            return False
        self._put(self._queue[1:])
        self._show()
        return True

    def flip(self) -> bool:
        """Go to and fro between the two frames of the offer; False if there is none."""
        offer = self.current
        if offer is None:
            return False
        p = offer.proposal
        self._desk.go_to(p.after if self._desk.index == p.before else p.before)
        return True

    def _take(self, markers: list[int], lines: list[Line], found: list[ProposalList]) -> None:
        queue: list[Offer] = []
        notes = []
        for marker, line, result in zip(markers, lines, found, strict=True):
            ordered = _best_first(result)
            queue += [Offer(marker, line, p, k, len(ordered)) for k, p in enumerate(ordered, 1)]
            if not ordered:
                notes.append(
                    self.tr("Marker {n}: {reason}").format(n=marker + 1, reason=said(result.note))
                )
        self._put(tuple(queue))
        self._drop_stale()
        self.fault.emit(" ".join(notes))
        self._show()

    def _fail(self, error: WaysideError) -> None:
        self.fault.emit(said(str(error)))
        self.changed.emit()

    def _put(self, queue: tuple[Offer, ...]) -> None:
        self._queue = queue
        self.changed.emit()

    def _show(self) -> None:
        offer = self.current
        if offer is not None:
            self._desk.choose(offer.marker)
            self._desk.go_to(offer.proposal.before)

    def _drop_stale(self) -> None:
        """Drop offers whose line was moved or taken away since."""
        markers = self._desk.marks.markers
        kept = tuple(
            o for o in self._queue if o.marker < len(markers) and markers[o.marker].line == o.line
        )
        if kept != self._queue:
            self._put(kept)


def _best_first(found: ProposalList) -> list[Proposal]:
    best = found.best
    rest = [p for p in found.proposals if p is not best]
    return ([best] if best is not None else []) + rest
