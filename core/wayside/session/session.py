"""The session as one immutable value: several runs, one of them shown; every edit makes a new one.

Whatever asks a session for an entry, a choice or a recording is answered by the run that is
shown; ``session.showing(at)`` is the same session seen through another run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from wayside.film.marks import NO_MARKS, FilmMarks
from wayside.session.run import TOOLS, Entry, MediaRef, Run, Span, Windows

__all__ = ["PLAN", "TOOLS", "Entry", "MediaRef", "Run", "Session", "Span", "Windows"]

PLAN = "plan."
"""First part of the keys of the planning form, which all runs share."""

MOST_RUNS = 1000


@dataclass(frozen=True)
class Session:
    """Everything a person put in; all results can be worked out from it again.

    Parameters
    ----------
    runs : tuple of Run
        At least one.
    shown : int
        Which of them is worked on.
    plan_entries : mapping of str to Entry
        The planning form, as typed.
    plan_choices : mapping of str to str
        Its either-or questions.
    """

    runs: tuple[Run, ...] = (Run(),)
    shown: int = 0
    plan_entries: Mapping[str, Entry] = field(default_factory=lambda: MappingProxyType({}))
    plan_choices: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        if not self.runs or not 0 <= self.shown < len(self.runs):
            raise ValueError("a session shows one of its runs")

    # --- the run that is shown ------------------------------------------------------------

    @property
    def run(self) -> Run:
        """The run that is shown."""
        return self.runs[self.shown]

    @property
    def media(self) -> MediaRef | None:
        """Its recording."""
        return self.run.media

    @property
    def entries(self) -> Mapping[str, Entry]:
        """Its hand measurements, with the plan's."""
        return MappingProxyType({**self.run.entries, **self.plan_entries})

    @property
    def choices(self) -> Mapping[str, str]:
        """Its choices, with the plan's."""
        return MappingProxyType({**self.run.choices, **self.plan_choices})

    @property
    def tools(self) -> Mapping[str, Entry]:
        """Its shared instruments."""
        return self.run.tools

    @property
    def windows(self) -> Windows:
        """Its reading windows."""
        return self.run.windows

    @property
    def film(self) -> FilmMarks:
        """Its marks in the film."""
        return self.run.film

    @property
    def film_file(self) -> MediaRef | None:
        """Its film, if that is not the recording."""
        return self.run.film_file

    def entry(self, key: str) -> Entry:
        """Return the entry of a field or instrument (``tools.NAME``), blank if never touched."""
        if key.startswith(TOOLS):
            return self.tools.get(key.removeprefix(TOOLS), Entry())
        if key.startswith(PLAN):
            return self.plan_entries.get(key, Entry())
        return self.run.entries.get(key, Entry())

    def with_run(self, run: Run) -> Session:
        """Return the session with the run of the same key replaced."""
        return replace(self, runs=tuple(run if r.key == run.key else r for r in self.runs))

    def with_entry(self, key: str, entry: Entry) -> Session:
        """Return the session with one entry changed."""
        run = self.run
        if key.startswith(TOOLS):
            name = key.removeprefix(TOOLS)
            return self.with_run(replace(run, tools=MappingProxyType({**run.tools, name: entry})))
        if key.startswith(PLAN):
            return replace(self, plan_entries=MappingProxyType({**self.plan_entries, key: entry}))
        return self.with_run(replace(run, entries=MappingProxyType({**run.entries, key: entry})))

    def with_choice(self, key: str, answer: str) -> Session:
        """Return the session with one choice changed."""
        if key.startswith(PLAN):
            return replace(self, plan_choices=MappingProxyType({**self.plan_choices, key: answer}))
        run = self.run
        return self.with_run(replace(run, choices=MappingProxyType({**run.choices, key: answer})))

    def with_tools(self, tools: Mapping[str, Entry]) -> Session:
        """Return the session with other shared instruments."""
        return self.with_run(replace(self.run, tools=MappingProxyType(dict(tools))))

    def with_hand(self, other: Session) -> Session:
        """Return the session with all hand measurements taken from another.

        What was planned and what was judged by ear is no part of a set-up and stays.
        """
        return self.with_run(self.run.with_hand(other.run))

    def with_windows(self, windows: Windows) -> Session:
        """Return the session with other reading windows."""
        return self.with_run(replace(self.run, windows=windows))

    def with_film(self, film: FilmMarks) -> Session:
        """Return the session with other marks in the film."""
        return self.with_run(replace(self.run, film=film))

    def with_film_file(self, film_file: MediaRef | None) -> Session:
        """Return the session with another film, or with the recording's own; marks go."""
        return self.with_run(replace(self.run, film_file=film_file, film=NO_MARKS))

    def with_media(self, media: MediaRef | None) -> Session:
        """Return the session with another recording; what belongs to the old one goes."""
        return self.with_run(self.run.with_media(media))

    def with_media_found(self, media: MediaRef) -> Session:
        """Return the session with the same recording in another place; everything else stays."""
        return self.with_run(replace(self.run, media=media))

    # --- several runs -----------------------------------------------------------------------

    def showing(self, at: int) -> Session:
        """Return the session seen through another run."""
        return replace(self, shown=at)

    def place(self, key: int) -> int | None:
        """Return where the run of a key stands; None if there is none."""
        return next((at for at, run in enumerate(self.runs) if run.key == key), None)

    def title(self, at: int) -> str:
        """Return what to call a run."""
        return self.runs[at].title(at)

    @property
    def groups(self) -> tuple[str, ...]:
        """The groups of the runs, each once, in order of the alphabet."""
        return tuple(sorted({run.group for run in self.runs if run.group}))

    @property
    def free_key(self) -> int:
        """A key no run has."""
        return 1 + max(run.key for run in self.runs)

    def with_new(self, *runs: Run, show: bool = True) -> Session:
        """Return the session with runs added at the end, the first of them shown."""
        start = self.free_key
        numbered = tuple(replace(run, key=start + k) for k, run in enumerate(runs))
        shown = len(self.runs) if show and runs else self.shown
        return replace(self, runs=(*self.runs, *numbered), shown=shown)

    def without(self, keys: frozenset[int]) -> Session:
        """Return the session without some runs; a blank run stands for the last one."""
        left = tuple(run for run in self.runs if run.key not in keys)
        if not left:
            return replace(self, runs=(Run(key=self.free_key),), shown=0)
        before = sum(run.key not in keys for run in self.runs[: self.shown])
        return replace(self, runs=left, shown=min(before, len(left) - 1))


def session_of(run: Run) -> Session:
    """Return the session that holds one run."""
    return Session((run,))
