"""A set-up: everything measured by hand before the film is listened to.

A `Draft` may be incomplete or wrong, and says so field by field; a `Setup` is a draft that
has been checked and can be predicted from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Self

from wayside.errors import SetupError
from wayside.hand.entry import Entry
from wayside.hand.fields import Field, Section, check_entry
from wayside.hand.inputs import Input, inputs_of, tool_field
from wayside.hand.model import check_physics
from wayside.hand.sections import AIR, MICROPHONE, MOTION
from wayside.hand.sources import SOURCE_KINDS
from wayside.hand.sources.kind import SourceKind
from wayside.hand.units import Dimension
from wayside.physics.air import AIR_FORMULAS

_SCALED = (Dimension.LENGTH, Dimension.TIME, Dimension.SPEED, Dimension.PITCH, Dimension.ROTATION)


@dataclass(frozen=True)
class Draft:
    """Hand measurements as entered so far; nothing is required to be right.

    Parameters
    ----------
    source_kind : str
        A key of `wayside.hand.sources.SOURCE_KINDS`.
    formula : str
        A key of `wayside.physics.air.AIR_FORMULAS`.
    entries : mapping of str to Entry
        What was measured, by dotted path; not to be changed in place.
    title, notes : str
        Free text.
    tools : mapping of str to Entry
        Relative scale error of instruments shared by several entries (value 0).
    """

    source_kind: str
    formula: str
    entries: Mapping[str, Entry]
    title: str = ""
    notes: str = ""
    tools: Mapping[str, Entry] = field(default_factory=dict)

    @property
    def kind(self) -> SourceKind:
        """The kind of source."""
        return SOURCE_KINDS[self.source_kind]

    @property
    def sections(self) -> tuple[Section, ...]:
        """The sections to fill in."""
        return sections_of(self.source_kind)

    @property
    def inputs(self) -> tuple[Input, ...]:
        """Every input in SI; only for drafts without problems."""
        return inputs_of(self, fields_of(self.source_kind))

    def way(self, section: str) -> str:
        """Return the key of the way in which a section was filled in; empty if in none."""
        chosen = next(s for s in self.sections if s.key == section)
        way = chosen.way_of(_keys(self.entries, section))
        return way.key if way else ""

    def with_entry(self, path: str, entry: Entry) -> Self:
        """Return a copy with one entry put in or replaced."""
        return replace(self, entries={**self.entries, path: entry})

    def without(self, path: str) -> Self:
        """Return a copy without one entry."""
        return replace(self, entries={k: e for k, e in self.entries.items() if k != path})

    def checked(self) -> Setup:
        """Return the same as a `Setup`, or raise `SetupError` on the first problem."""
        return Setup(
            self.source_kind, self.formula, self.entries, self.title, self.notes, self.tools
        )


@dataclass(frozen=True)
class Setup(Draft):
    """A complete, checked draft.

    Raises
    ------
    SetupError
        If anything is missing, unknown or absurd; `field` names the entry.
    """

    def __post_init__(self) -> None:
        object.__setattr__(self, "entries", dict(self.entries))
        object.__setattr__(self, "tools", dict(self.tools))
        for path, sentence in problems_of(self).items():
            raise SetupError(sentence, path)


def can_share(field: Field) -> bool:
    """Tell whether a field may be read with an instrument whose scale other fields share."""
    return field.dimension in _SCALED


def sections_of(source_kind: str) -> tuple[Section, ...]:
    """Return the sections a set-up of that source kind has, in the order of a form."""
    kind = SOURCE_KINDS[source_kind]
    if not kind.uses_motion:
        return (kind.section, AIR)
    return (MOTION, kind.section, AIR, MICROPHONE)


def fields_of(source_kind: str) -> dict[str, Field]:
    """Return every field of that source kind by dotted path."""
    return {f.path: f for section in sections_of(source_kind) for f in section.fields}


def problems_of(draft: Draft) -> dict[str, str]:
    """Return what is wrong with a draft: one sentence per dotted path, empty if nothing is."""
    if draft.source_kind not in SOURCE_KINDS:
        known = ", ".join(SOURCE_KINDS)
        return {"source.kind": f'source.kind is "{draft.source_kind}"; use one of {known}.'}
    if draft.formula not in AIR_FORMULAS:
        known = ", ".join(AIR_FORMULAS)
        return {"air.formula": f'air.formula is "{draft.formula}"; use one of {known}.'}
    problems = _check_fields(draft) | _check_tools(draft)
    for section in draft.sections:
        for path, sentence in _check_complete(section, draft).items():
            problems.setdefault(path, sentence)
    return problems or check_physics(draft, draft.inputs)


def _check_fields(draft: Draft) -> dict[str, str]:
    known = fields_of(draft.source_kind)
    problems = {}
    for path, entry in draft.entries.items():
        if path not in known:
            problems[path] = (
                f'{path} is not used with the source kind "{draft.source_kind}"; remove it or '
                "correct its name."
            )
        elif sentence := check_entry(known[path], entry):
            problems[path] = sentence
    return problems


def _check_complete(section: Section, draft: Draft) -> dict[str, str]:
    if not section.ways:
        return {}
    spare = {f.key for f in section.optional}
    present = _keys(draft.entries, section.key) & {f.key for f in section.fields} - spare
    if section.way_of(frozenset(present)):
        return {}
    best = max(section.ways, key=lambda way: _closeness(way.fields, present))
    missing = [f for f in best.fields if f.key not in present]
    extra = sorted(present - {f.key for f in best.fields})
    if not extra and (present or len(section.ways) == 1):
        return {f.path: f"{f.path} is missing; add the {f.label}." for f in missing}
    path = f"{section.key}.{extra[0]}" if extra else section.key
    got = f"has {', '.join(sorted(present))}" if present else "is missing"
    options = ", or ".join(" + ".join(f.key for f in way.fields) for way in section.ways)
    return {path: f"{section.key} {got}; give exactly one of these: {options}."}


def _closeness(fields: tuple[Field, ...], present: frozenset[str]) -> int:
    keys = {f.key for f in fields}
    return 3 * len(keys & present) - 2 * len(present - keys) - len(keys - present)


def _check_tools(draft: Draft) -> dict[str, str]:
    known = fields_of(draft.source_kind)
    problems = {}
    for path, entry in draft.entries.items():
        if entry.tool and entry.tool not in draft.tools:
            problems[path] = (
                f'{path} was measured with "{entry.tool}", which tools does not list; add it there.'
            )
        elif entry.tool and path in known and known[path].dimension not in _SCALED:
            problems[path] = f"{path} cannot share the scale of an instrument; remove its tool."
    used = {entry.tool for entry in draft.entries.values()}
    for name, entry in draft.tools.items():
        if name not in used:
            problems[f"tools.{name}"] = (
                f'tools.{name} is not used by any entry; add "tool": "{name}" to what was '
                "measured with it, or remove it."
            )
        elif entry.tool:
            problems[f"tools.{name}"] = (
                f"tools.{name} cannot share the scale of an instrument; remove its tool."
            )
        elif sentence := check_entry(tool_field(name), entry):
            problems[f"tools.{name}"] = sentence
    return problems


def _keys(entries: Mapping[str, Entry], section: str) -> frozenset[str]:
    head = f"{section}."
    return frozenset(path.removeprefix(head) for path in entries if path.startswith(head))
