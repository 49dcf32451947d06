"""The session as one immutable value; every edit makes a new one.

Hand measurements are kept exactly as they were typed, so that an entry that cannot be used yet
is still there when the session is opened again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TypeVar

from wayside.film.marks import NO_MARKS, FilmMarks

Span = tuple[float, float]
T = TypeVar("T")

TOOLS = "tools."
APART = ("plan.", "heard.")
"""First parts of the keys that belong to no set-up: plans, and pitches judged by ear."""


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


@dataclass(frozen=True)
class Session:
    """Everything a person put in; all results can be worked out from it again.

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
    """

    media: MediaRef | None = None
    entries: Mapping[str, Entry] = field(default_factory=lambda: MappingProxyType({}))
    choices: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    tools: Mapping[str, Entry] = field(default_factory=lambda: MappingProxyType({}))
    windows: Windows = Windows()
    film: FilmMarks = NO_MARKS
    film_file: MediaRef | None = None

    def entry(self, key: str) -> Entry:
        """Return the entry of a field or instrument (``tools.NAME``), blank if never touched."""
        if key.startswith(TOOLS):
            return self.tools.get(key.removeprefix(TOOLS), Entry())
        return self.entries.get(key, Entry())

    def with_entry(self, key: str, entry: Entry) -> Session:
        """Return the session with one entry changed."""
        if key.startswith(TOOLS):
            name = key.removeprefix(TOOLS)
            return replace(self, tools=MappingProxyType({**self.tools, name: entry}))
        return replace(self, entries=MappingProxyType({**self.entries, key: entry}))

    def with_hand(self, other: Session) -> Session:
        """Return the session with all hand measurements taken from another.

        What was planned and what was judged by ear is no part of a set-up and stays.
        """
        return replace(
            self,
            entries=MappingProxyType({**_apart(self.entries), **other.entries}),
            choices=MappingProxyType({**_apart(self.choices), **other.choices}),
            tools=other.tools,
        )

    def with_choice(self, key: str, answer: str) -> Session:
        """Return the session with one choice changed."""
        return replace(self, choices=MappingProxyType({**self.choices, key: answer}))

    def with_windows(self, windows: Windows) -> Session:
        """Return the session with other reading windows."""
        return replace(self, windows=windows)

    def with_film(self, film: FilmMarks) -> Session:
        """Return the session with other marks in the film."""
        return replace(self, film=film)

    def with_film_file(self, film_file: MediaRef | None) -> Session:
        """Return the session with another film, or with the recording's own; marks go."""
        return replace(self, film_file=film_file, film=NO_MARKS)

    def with_media(self, media: MediaRef | None) -> Session:
        """Return the session with another recording; what belongs to the old one goes."""
        film = NO_MARKS if self.film_file is None else self.film
        return replace(self, media=media, windows=Windows(), film=film)


def _apart(values: Mapping[str, T]) -> dict[str, T]:
    return {key: value for key, value in values.items() if key.startswith(APART)}
