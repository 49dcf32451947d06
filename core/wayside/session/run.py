"""One run as one immutable value: a recording, the set-up it was made with, what was read in it.

Hand measurements are kept exactly as they were typed, so that an entry that cannot be used yet
is still there when the session is opened again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import PurePath
from types import MappingProxyType
from typing import TypeVar

from wayside.film.marks import NO_MARKS, Clap, FilmMarks
from wayside.hand.sections import FIRST_FRAME, FIRST_TIME, SECOND_FRAME, SECOND_TIME, SPEED

Span = tuple[float, float]
T = TypeVar("T")

TOOLS = "tools."
EAR = "heard."
"""First part of the keys of pitches judged by ear: of the run, but no part of its set-up."""

READ_EACH_TIME = frozenset(
    f.path for f in (FIRST_TIME, SECOND_TIME, FIRST_FRAME, SECOND_FRAME, SPEED)
)
"""Entries that are read anew in every run, so that the next run starts without them."""


@dataclass(frozen=True)
class Entry:
    """One hand measurement as typed.

    Parameters
    ----------
    text : str
        The value; empty when not given.
    unit : str
        Unit symbol.
    u_text : str
        Its uncertainty, in the same unit; empty when not given.
    u_kind : str
        What `u_text` means: ``"u"`` (standard uncertainty), ``"half_width"`` (limits) or
        ``"resolution"`` (smallest step of the scale).
    extra : tuple of (str, str)
        Further parts of a set-up file's entry that the form does not show, carried along.
    """

    text: str = ""
    unit: str = ""
    u_text: str = ""
    u_kind: str = "u"
    extra: tuple[tuple[str, str], ...] = ()

    @property
    def blank(self) -> bool:
        """True when neither value nor uncertainty was typed."""
        return not self.text.strip() and not self.u_text.strip()


@dataclass(frozen=True)
class MediaRef:
    """Where the recording lies, and how to know it again.

    Parameters
    ----------
    path : str
        Absolute path.
    size : int
        Bytes; -1 when unknown.
    sha256 : str
        Digest of the file's bytes in hex; empty when not worked out yet.
    """

    path: str
    size: int = -1
    sha256: str = ""


@dataclass(frozen=True)
class Windows:
    """The two reading windows (s on the recording's clock); None lets the program choose."""

    approach_s: Span | None = None
    recede_s: Span | None = None


def _nothing() -> MappingProxyType[str, T]:
    return MappingProxyType({})


@dataclass(frozen=True)
class Run:
    """Everything a person put in about one pass of the source.

    Parameters
    ----------
    media : MediaRef or None
        The recording or film.
    entries : mapping of str to Entry
        Hand measurements by field key, as typed.
    choices : mapping of str to str
        Answers to either-or questions (kind of source, formula ...) by key.
    tools : mapping of str to Entry
        Scale errors of instruments that several entries share, by name.
    windows : Windows
        Reading windows set by hand.
    film : FilmMarks
        What was marked in the film's picture.
    film_file : MediaRef or None
        The film, if its pictures are not those of the recording itself.
    name, group : str
        As typed; empty when not given.
    direction : str
        Which way the source went: ``"out"``, ``"back"``, or empty when nobody said.
    key : int
        Tells the runs of a session apart while it is open; no part of the file.
    """

    media: MediaRef | None = None
    entries: Mapping[str, Entry] = field(default_factory=_nothing)
    choices: Mapping[str, str] = field(default_factory=_nothing)
    tools: Mapping[str, Entry] = field(default_factory=_nothing)
    windows: Windows = Windows()
    film: FilmMarks = NO_MARKS
    film_file: MediaRef | None = None
    name: str = ""
    group: str = ""
    direction: str = ""
    key: int = 1

    @property
    def blank(self) -> bool:
        """True when nothing was put in at all."""
        return self == Run(key=self.key)

    def title(self, at: int) -> str:
        """Return the run's name, else its recording's, else its number (`at` counts from 0)."""
        if self.name.strip():
            return self.name.strip()
        return f"Run {at + 1}" if self.media is None else PurePath(self.media.path).stem

    def with_hand(self, other: Run) -> Run:
        """Return the run with all hand measurements taken from another.

        What was judged by ear is no part of a set-up and stays.
        """
        return replace(
            self,
            entries=MappingProxyType({**_by_ear(self.entries), **_set_up(other.entries)}),
            choices=MappingProxyType({**_by_ear(self.choices), **_set_up(other.choices)}),
            tools=other.tools,
        )

    def with_set_up(self, other: Run) -> Run:
        """Return the run with another's set-up; what was read in this run itself stays."""
        own = {k: e for k, e in self.entries.items() if k in READ_EACH_TIME}
        taken = self.with_hand(other)
        return replace(taken, entries=MappingProxyType({**taken.entries, **own}))

    def with_media(self, media: MediaRef | None) -> Run:
        """Return the run with another recording; what belongs to the old one goes."""
        film = NO_MARKS if self.film_file is None else self.film
        return replace(self, media=media, windows=Windows(), film=film)

    def next(self, key: int) -> Run:
        """Return the run to be made next, with the same set-up.

        What is read anew in every run (crossings, frames, pitches) is left blank: a value of
        another run in its place would be a wrong prediction that looks right. Marker lines and
        the ruler stay, for a camera that was not moved.
        """
        entries = {k: e for k, e in _set_up(self.entries).items() if k not in READ_EACH_TIME}
        markers = tuple(replace(m, before=None, after=None) for m in self.film.markers)
        return Run(
            entries=MappingProxyType(entries),
            choices=MappingProxyType(_set_up(self.choices)),
            tools=self.tools,
            film=replace(self.film, markers=markers, clap=Clap()),
            group=self.group,
            direction=self.direction,
            key=key,
        )


def _by_ear(values: Mapping[str, T]) -> dict[str, T]:
    return {key: value for key, value in values.items() if key.startswith(EAR)}


def _set_up(values: Mapping[str, T]) -> dict[str, T]:
    return {key: value for key, value in values.items() if not key.startswith(EAR)}
