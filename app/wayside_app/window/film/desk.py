"""What is going on at the film: the frame looked at, the marker picked, and every edit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from wayside.errors import InputError
from wayside.film.geometry import Line, Point
from wayside.film.marked import FilmReading, frame_of, read_marks
from wayside.film.marks import FilmMarks, Marker, Ruler, Sighting
from wayside.hand.sections import MARKER_DISTANCE
from wayside.hand.setup import fields_of
from wayside.quantity import Quantity
from wayside.session.film_times import FilmEntries, film_entries, followed, with_film_entries
from wayside.session.hand_form import source_kind
from wayside.session.session import MediaRef, Session
from wayside_app.window.bench import Bench
from wayside_app.window.edits import EditSession
from wayside_app.window.film.film_source import FilmSource
from wayside_app.window.film.moving import FOOT, LINE, RULER_STOP, SPOT, TOP, Pick, moved_marks

MOST_MARKERS = 9
_PART_ORDER = (LINE, TOP, FOOT)


class FilmDesk(QObject):
    """State of the film panel that is not in the session, and the session's film edits.

    Signals
    -------
    frame_changed()
        Another frame is looked at.
    marks_changed()
        Marks, what follows from them, or what is picked changed.
    hinted(sentence)
        What to do next, or why something was not done; empty clears it.
    """

    frame_changed = Signal()
    marks_changed = Signal()
    hinted = Signal(str)

    def __init__(self, bench: Bench, source: FilmSource, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.bench = bench
        self.source = source
        self.index = 0
        self.marker = 0
        self.pick: Pick | None = None
        self.pending: Point | None = None
        self.reading: FilmReading | None = None
        self.for_form: FilmEntries | None = None
        self.fineness_px = 1.0
        self._live: FilmMarks | None = None
        self._visit = 0
        bench.session_changed.connect(self._read)
        source.opened.connect(self._film_changed)

    # --- what is there ------------------------------------------------------------------

    @property
    def marks(self) -> FilmMarks:
        """The marks, while something is dragged as they would be."""
        return self.bench.session.film if self._live is None else self._live

    @property
    def time_s(self) -> float:
        """Time of the frame looked at (s)."""
        film = self.source.film
        return 0.0 if film is None else float(film.times.seconds[self.index])

    @property
    def picked_marker(self) -> Marker | None:
        """The marker that B, A and W speak of."""
        markers = self.marks.markers
        return markers[self.marker] if self.marker < len(markers) else None

    def sighting_here(self, marker: Marker) -> str:
        """Return ``"before"`` or ``"after"`` if this frame is marked so, else empty."""
        for name in ("before", "after"):
            sighting = marker.sighting(name)
            if sighting is not None and self._frame(sighting.time_s) == self.index:
                return name
        return ""

    @property
    def sighting_now(self) -> Sighting | None:
        """The picked marker's frame before or after, if this is one of them."""
        marker = self.picked_marker
        name = "" if marker is None else self.sighting_here(marker)
        return None if marker is None or not name else marker.sighting(name)

    # --- moving in time -----------------------------------------------------------------

    def go_to(self, index: int) -> None:
        """Look at a frame; beyond the ends at the first or last."""
        film = self.source.film
        if film is None:
            return
        index = min(max(index, 0), len(film.times) - 1)
        if index != self.index:
            self.index = index
            self._visit += 1
            self.drop_pending()
        self.source.want(index)
        self.frame_changed.emit()

    def step(self, frames: int) -> None:
        """Go some frames on, or back."""
        self.go_to(self.index + frames)

    def step_s(self, seconds: float) -> None:
        """Go to the frame nearest to some seconds on, or back."""
        film = self.source.film
        if film is not None:
            there = film.times.nearest(self.time_s + seconds)
            if there == self.index:
                there += 1 if seconds > 0 else -1
            self.go_to(there)

    def go_to_end(self, direction: int) -> None:
        """Look at the first (negative) or the last frame."""
        film = self.source.film
        if film is not None:
            self.go_to(0 if direction < 0 else len(film.times) - 1)

    def go_to_time(self, time_s: float) -> None:
        """Look at the frame on show at a time (s)."""
        film = self.source.film
        if film is not None:
            self.go_to(film.times.last_at(time_s))

    def flip(self) -> None:
        """Go to and fro between the two frames of the picked marker."""
        marker = self.picked_marker
        if marker is None or (marker.before is None and marker.after is None):
            self.hinted.emit(self.tr("Mark the two frames first: B for before, A for after."))
            return
        here = self.sighting_here(marker)
        other = marker.after if here == "before" else marker.before
        target = other or marker.before or marker.after
        index = None if target is None else self._frame(target.time_s)
        if index is not None:
            self.go_to(index)

    # --- markers ------------------------------------------------------------------------

    def choose(self, marker: int, part: str = LINE) -> None:
        """Pick a part of a marker."""
        if 0 <= marker < len(self.marks.markers):
            if marker != self.marker:
                self.drop_pending()
            self.marker = marker
            self.pick = Pick(part, marker)
            self._visit += 1
            self.marks_changed.emit()

    def choose_ruler(self, part: str) -> None:
        """Pick an end of the ruler."""
        self.pick = Pick(part)
        self._visit += 1
        self.marks_changed.emit()

    def cycle(self, marker: int) -> None:
        """Pick a marker; its ends in turn if it is picked already."""
        part = LINE
        if self.pick is not None and self.pick.marker == marker and self.pick.part in _PART_ORDER:
            part = _PART_ORDER[(_PART_ORDER.index(self.pick.part) + 1) % 3]
        self.choose(marker, part)

    def add_marker(self, line: Line) -> None:
        """Lay one more marker line."""
        marks = self.marks
        if len(marks.markers) >= MOST_MARKERS:
            self.hinted.emit(self.tr("Nine marker lines are the most; remove one first."))
            return
        number = len(marks.markers)
        self._edit(
            self.tr("add marker {n}").format(n=number + 1),
            marks.with_new(Marker(line, line_u_px=self._line_spread())),
        )
        self.choose(number)

    def remove_marker(self) -> None:
        """Take the picked marker away."""
        if self.picked_marker is None:
            return
        name = self.tr("remove marker {n}").format(n=self.marker + 1)
        gone = self.marker
        self.pick = None
        self.marker = max(0, min(gone, len(self.marks.markers) - 2))
        self._edit(name, self.marks.without(gone))

    def change_marker(self, at: int, marker: Marker, name: str, topic: str = "") -> None:
        """Replace a marker."""
        if marker != self.marks.markers[at]:
            self._edit(name, self.marks.with_marker(at, marker), topic)

    def change(self, marks: FilmMarks, name: str, topic: str = "") -> None:
        """Replace all marks."""
        if marks != self.bench.session.film:
            self._edit(name, marks, topic)

    # --- crossing -----------------------------------------------------------------------

    def mark(self, name: str) -> None:
        """Take this frame as ``"before"`` or ``"after"`` for the picked marker."""
        marker, film = self.picked_marker, self.source.film
        if film is None:
            return
        if marker is None:
            self.hinted.emit(self.tr("Lay a marker line first: N, or double-click the picture."))
            return
        old = marker.sighting(name)
        spot = old if old is not None and self._frame(old.time_s) == self.index else None
        new = marker.with_sighting(name, spot or Sighting(self.time_s))
        new = _without_contradiction(new, name)
        what = {
            "before": self.tr("mark the frame before marker {n}"),
            "after": self.tr("mark the frame after marker {n}"),
        }[name]
        self.hinted.emit("")
        self.change_marker(self.marker, new, what.format(n=self.marker + 1))

    def take_crossing(self, at: int, before: int, after: int, name: str) -> None:
        """Take two frames as a marker's crossing."""
        film = self.source.film
        if film is None or at >= len(self.marks.markers):
            return
        first, second = (Sighting(float(film.times.seconds[k])) for k in (before, after))
        marker = replace(self.marks.markers[at], before=first, after=second)
        self.change_marker(at, marker, name)

    def begin_spot(self) -> None:
        """Offer a ring to be moved onto the watched point in this frame."""
        marker = self.picked_marker
        sighting = self.sighting_now
        if marker is None or sighting is None:
            self.hinted.emit(
                self.tr(
                    "The wheel is marked in the frame before and in the frame after: mark this "
                    "frame as one of them first (B or A)."
                )
            )
            return
        self.pending = sighting.spot or self._first_guess(marker)
        self.pick = Pick(SPOT, self.marker)
        self.hinted.emit(
            self.tr(
                "Move the ring onto the watched point: drag it, or Shift and arrows, then Enter."
            )
        )
        self.marks_changed.emit()

    def set_spot(self) -> None:
        """Take the ring's place as where the watched point is."""
        marker, spot = self.picked_marker, self.pending
        sighting = self.sighting_now
        if marker is None or spot is None or sighting is None:
            return
        spread = max(Sighting.spot_u_px, self.fineness_px)
        self.pending = None
        self.hinted.emit("")
        name = self.sighting_here(marker)
        new = marker.with_sighting(name, replace(sighting, spot=spot, spot_u_px=spread))
        what = self.tr("mark the wheel at marker {n}").format(n=self.marker + 1)
        self.change_marker(self.marker, new, what)
        self.marks_changed.emit()

    def drop_pending(self) -> bool:
        """Forget a ring that was not set; False if there is none."""
        if self.pending is None:
            return False
        self.pending = None
        self.pick = Pick(LINE, self.marker)
        self.hinted.emit("")
        self.marks_changed.emit()
        return True

    # --- moving things ------------------------------------------------------------------

    def nudge(self, dx: float, dy: float) -> None:
        """Move what is picked by some film pixels; neighbouring nudges are one undo step."""
        pick = self.pick
        if pick is None:
            self.hinted.emit(self.tr("Pick a marker first: its number, or click on it."))
            return
        if pick.part == SPOT:
            self.move_pending(dx, dy)
            return
        moved = moved_marks(self.marks, pick, (dx, dy), self._size, self._line_spread())
        if moved != self.marks:
            self._edit(self._move_name(pick), moved, f"film {pick} {self._visit}")

    def move_pending(self, dx: float, dy: float) -> None:
        """Move the ring that is not set yet."""
        if self.pending is None:
            self.begin_spot()
        if self.pending is not None:
            self.pending = self._within(Point(self.pending.x + dx, self.pending.y + dy))
            self.marks_changed.emit()

    def preview(self, pick: Pick, dx: float, dy: float) -> None:
        """Show what is dragged where the pointer has it; `finish_preview` makes it an edit."""
        start = self.bench.session.film
        self._live = moved_marks(start, pick, (dx, dy), self._size, self._line_spread())
        self._read()

    def finish_preview(self, pick: Pick) -> None:
        """Make what was dragged an edit."""
        live, self._live = self._live, None
        if live is not None and live != self.bench.session.film:
            self._edit(self._move_name(pick), live)
        else:
            self._read()

    def lay_ruler(self, start: Point, stop: Point) -> None:
        """Lay a ruler into the picture."""
        self._edit(self.tr("lay a ruler"), replace(self.marks, ruler=Ruler(start, stop)))
        self.choose_ruler(RULER_STOP)

    # --- which film ---------------------------------------------------------------------

    def use_film(self, path: Path | None) -> None:
        """Take the pictures of another file, or (None) those of the recording itself."""
        film_file = None if path is None else MediaRef(str(path.resolve()), _size(path))
        session = self.bench.session
        if film_file != session.film_file:
            name = (
                self.tr("take the recording's own film")
                if path is None
                else self.tr("take the film {file}").format(file=path.name)
            )
            self._push(name, session.with_film_file(film_file))

    # --- the form -----------------------------------------------------------------------

    def put_into_form(self) -> None:
        """Have the form hold what the film gives."""
        if self.for_form is not None:
            session = with_film_entries(self.bench.session, self.for_form)
            self._push(self.tr("take the times from the film"), session)

    # --- inside -------------------------------------------------------------------------

    def _edit(self, name: str, marks: FilmMarks, topic: str = "") -> None:
        old = self.bench.session
        new = followed(old, self.for_form, old.with_film(marks), self._for_form(marks))
        self._push(name, new, topic)

    def _push(self, name: str, session: Session, topic: str = "") -> None:
        self.bench.undo_stack.push(EditSession(self.bench, name, session, topic))

    def _read(self) -> None:
        film = self.source.film
        distance = marker_distance(self.bench)
        marks = self.marks
        self.marker = min(self.marker, max(0, len(marks.markers) - 1))
        if self.pick is not None and self.pick.marker >= len(marks.markers):
            self.pick = None
        self.reading = None if film is None else read_marks(marks, film.info, distance)
        if self._live is None:
            self.for_form = self._for_form(marks)
        self.marks_changed.emit()

    def _for_form(self, marks: FilmMarks) -> FilmEntries | None:
        film = self.source.film
        if film is None:
            return None
        return film_entries(marks, read_marks(marks, film.info))

    def _film_changed(self) -> None:
        self.index = 0
        self.marker = 0
        self.pick = None
        self.pending = None
        self._live = None
        self._read()
        if self.source.film is not None:
            self.go_to(self._first_look())

    def _first_look(self) -> int:
        """Return the frame to begin with: the first crossing marked, else the first frame."""
        times = [m.before.time_s for m in self.marks.markers if m.before is not None]
        index = self._frame(min(times)) if times else None
        return index or 0

    def _frame(self, time_s: float) -> int | None:
        film = self.source.film
        if film is None:
            return None
        try:
            return frame_of(time_s, film.times)
        except InputError:
            return None

    def _first_guess(self, marker: Marker) -> Point:
        """Return where the ring starts: where it was put in the other frame, else at the foot."""
        for sighting in (marker.before, marker.after):
            if sighting is not None and sighting.spot is not None:
                return sighting.spot
        return max((marker.line.start, marker.line.stop), key=lambda end: end.y)

    def _line_spread(self) -> float:
        return max(Marker.line_u_px, self.fineness_px)

    @property
    def _size(self) -> tuple[int, int]:
        film = self.source.film
        return (0, 0) if film is None else (film.info.width, film.info.height)

    def _within(self, point: Point) -> Point:
        width, height = self._size
        return Point(min(max(point.x, 0.0), width), min(max(point.y, 0.0), height))

    def _move_name(self, pick: Pick) -> str:
        if pick.marker < 0:
            return self.tr("move the ruler")
        return self.tr("move marker {n}").format(n=pick.marker + 1)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return -1


def marker_distance(bench: Bench) -> Quantity | None:
    """Return the distance between the markers that the form holds (m), if it is usable."""
    entry = bench.reading.entries.get(MARKER_DISTANCE.path)
    known = fields_of(source_kind(bench.session))
    if entry is None or MARKER_DISTANCE.path not in known:
        return None
    unit = MARKER_DISTANCE.unit_of(entry)
    return Quantity(unit.to_si(entry.best), unit.u_to_si(entry.standard_u), "m")


def film_path(bench: Bench) -> Path | None:
    """Return the file whose pictures belong to the session."""
    if bench.session.film_file is not None:
        return Path(bench.session.film_file.path)
    media = bench.session.media if bench.heard is None else bench.heard.media
    return None if media is None else Path(media.path)


def _without_contradiction(marker: Marker, just_marked: str) -> Marker:
    """Drop the other frame if it now lies on the wrong side."""
    before, after = marker.before, marker.after
    if before is None or after is None or before.time_s < after.time_s:
        return marker
    return marker.with_sighting("after" if just_marked == "before" else "before", None)
