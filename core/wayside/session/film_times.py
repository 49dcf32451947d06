"""From the film's crossings to the form: times with their uncertainties, as typed entries.

The form follows the film while its fields are blank or still hold what the film gave; what a
person typed there is only replaced when they ask for it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType

from wayside.film.marked import FilmReading, first_and_last
from wayside.film.marks import FilmMarks, Typed
from wayside.film.retime import Retiming
from wayside.hand import digits
from wayside.hand.sections import FIRST_TIME, MARKER_DISTANCE, MOTION, SECOND_TIME
from wayside.hand.setup import fields_of
from wayside.quantity import Quantity
from wayside.session.hand_form import chosen_way, source_kind, way_key
from wayside.session.session import Entry, Session

FILM_CLOCK = "film clock"
_TIMES = "times"


@dataclass(frozen=True)
class FilmEntries:
    """What the film says for the form.

    Parameters
    ----------
    entries : mapping of str to Entry
        By field path.
    tools : mapping of str to Entry
        The film's clock, when a true rate was entered.
    """

    entries: MappingProxyType[str, Entry]
    tools: MappingProxyType[str, Entry]


def film_entries(marks: FilmMarks, reading: FilmReading) -> FilmEntries | None:
    """Return the form's entries from the first and the last crossing; None with fewer than two.

    Parameters
    ----------
    marks : FilmMarks
    reading : FilmReading
        Read from the same marks.
    """
    ends = first_and_last(reading)
    if ends is None:
        return None
    clock = reading.clock
    shared = (("tool", FILM_CLOCK),) if clock.relative_u else ()
    entries = {
        field.path: replace(_entry(time), extra=shared)
        for field, time in zip((FIRST_TIME, SECOND_TIME), ends, strict=True)
    }
    distance = _typed_distance(marks, reading)
    if distance is not None:
        entries[MARKER_DISTANCE.path] = distance
    return FilmEntries(MappingProxyType(entries), MappingProxyType(_tools(clock)))


def takes_times(session: Session) -> bool:
    """Tell whether the form's kind of source has crossing times at all."""
    return FIRST_TIME.path in fields_of(source_kind(session))


def holds(session: Session, film: FilmEntries | None) -> bool:
    """Tell whether the form holds exactly the times that the film gives."""
    if film is None or not _by_times(session):
        return False
    return all(session.entry(f.path) == film.entries[f.path] for f in (FIRST_TIME, SECOND_TIME))


def is_free(session: Session) -> bool:
    """Tell whether the form's crossing times are blank and meant to be filled in."""
    blank = all(session.entry(f.path).blank for f in (FIRST_TIME, SECOND_TIME))
    return blank and _by_times(session)


def with_film_entries(session: Session, film: FilmEntries) -> Session:
    """Return the session whose form holds what the film gives."""
    session = session.with_choice(way_key(MOTION), _TIMES)
    for path, entry in film.entries.items():
        session = session.with_entry(path, entry)
    return session.with_tools({**session.tools, **film.tools})


def followed(
    old: Session, old_film: FilmEntries | None, new: Session, new_film: FilmEntries | None
) -> Session:
    """Return `new`, its form brought along if it followed the film or was free.

    Parameters
    ----------
    old, new : Session
        Before and after a change of the marks.
    old_film, new_film : FilmEntries or None
        What the film gives in each.
    """
    if new_film is None or not takes_times(new):
        return new
    if holds(old, old_film) or is_free(old):
        return with_film_entries(new, _without_overwriting(old, old_film, new_film))
    return new


def _without_overwriting(
    old: Session, old_film: FilmEntries | None, new_film: FilmEntries
) -> FilmEntries:
    """Leave a distance alone that the form holds and the film did not give."""
    path = MARKER_DISTANCE.path
    given = old_film.entries.get(path) if old_film is not None else None
    held = old.entry(path)
    if path not in new_film.entries or held.blank or held == given:
        return new_film
    entries = {k: e for k, e in new_film.entries.items() if k != path}
    return replace(new_film, entries=MappingProxyType(entries))


def _by_times(session: Session) -> bool:
    way = chosen_way(session, MOTION)
    return takes_times(session) and way is not None and way.key == _TIMES


def _entry(q: Quantity) -> Entry:
    return Entry(_plain(digits.number_text(q)), q.unit, _plain(digits.u_text(Quantity(0, q.u, ""))))


def _plain(text: str) -> str:
    return text.replace(digits.MINUS, "-").strip()


def _tools(clock: Retiming) -> dict[str, Entry]:
    if not clock.relative_u:
        return {}
    return {FILM_CLOCK: Entry("0", "%", f"{100 * clock.relative_u:.3g}")}


def _typed_distance(marks: FilmMarks, reading: FilmReading) -> Entry | None:
    """Return the distance from first to last crossing, if it follows from typed places."""
    first, last = reading.complete[0], reading.complete[-1]
    if any(k != 0 and marks.markers[k].place.blank for k in (first, last)):
        return None
    a, b = (reading.markers[k].place for k in (first, last))
    if a is None or b is None:
        return None
    typed: Typed = marks.markers[last].place
    if first == 0 and b.value > 0:
        return Entry(typed.text, typed.unit, typed.u_text)
    return _entry(Quantity(abs(b.value - a.value), (a.u**2 + b.u**2) ** 0.5, "m"))
