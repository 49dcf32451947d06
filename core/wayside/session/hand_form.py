"""From the form as typed to a usable set-up, with every fault at its own field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from wayside.errors import SetupError
from wayside.hand.entry import Entry as HandEntry
from wayside.hand.fields import Field, Section, Way
from wayside.hand.inputs import inputs_of, tool_field
from wayside.hand.model import air_speed, apply_tools, linear_values
from wayside.hand.propagate import as_quantity
from wayside.hand.sections import MICROPHONE_DISTANCE, TEMPERATURE
from wayside.hand.setup import Draft, Setup, fields_of, problems_of, sections_of
from wayside.hand.sources import SOURCE_KINDS
from wayside.physics.air import AIR_FORMULAS
from wayside.quantity import Quantity
from wayside.session.run import TOOLS, Run
from wayside.session.session import Session, session_of
from wayside.session.typed import UncertaintyMissing, at_the_field, typed_entry, usable_entry

SOURCE_KIND = "source.kind"
FORMULA = "air.formula"
TITLE = "title"
NOTES = "notes"


@dataclass(frozen=True)
class FormReading:
    """What the form says.

    Parameters
    ----------
    setup : Setup or None
        The usable set-up; None while something is missing or wrong.
    faults : mapping of str to str
        One sentence per field path that holds something unusable.
    missing : tuple of Field
        Needed fields still blank, in the order of the form.
    unfinished : frozenset of str
        Field paths among the faults whose only fault is that no uncertainty was typed yet.
    entries : mapping of str to wayside.hand.entry.Entry
        What can be used so far, by field path.
    draft : Draft
        The same as an unchecked set-up.
    """

    setup: Setup | None
    faults: Mapping[str, str]
    missing: tuple[Field, ...]
    unfinished: frozenset[str]
    entries: Mapping[str, HandEntry]
    draft: Draft

    @property
    def sound_speed(self) -> Quantity | None:
        """Speed of sound (m/s) as soon as the air is known, else None."""
        if TEMPERATURE.path not in self.entries:
            return None
        air = {path: e for path, e in self.entries.items() if path.startswith("air.")}
        draft = Draft(self.draft.source_kind, self.draft.formula, air)
        inputs = inputs_of(draft, fields_of(draft.source_kind))
        values = apply_tools(linear_values(inputs), inputs)
        return as_quantity(air_speed(draft, values), "m/s")

    @property
    def closest(self) -> Quantity | None:
        """Taped distance from microphone to track (m), if given."""
        entry = self.entries.get(MICROPHONE_DISTANCE.path)
        if entry is None:
            return None
        unit = MICROPHONE_DISTANCE.unit_of(entry)
        return Quantity(unit.to_si(entry.best), unit.u_to_si(entry.standard_u), "m")


def source_kind(session: Session) -> str:
    """Return the chosen kind of source, the first kind by default."""
    chosen = session.choices.get(SOURCE_KIND, "")
    return chosen if chosen in SOURCE_KINDS else next(iter(SOURCE_KINDS))


def formula(session: Session) -> str:
    """Return the chosen formula for the speed of sound, the first by default."""
    chosen = session.choices.get(FORMULA, "")
    return chosen if chosen in AIR_FORMULAS else next(iter(AIR_FORMULAS))


def way_key(section: Section) -> str:
    """Return the key under which a section's way is chosen."""
    return f"{section.key}.way"


def chosen_way(session: Session, section: Section) -> Way | None:
    """Return the chosen way of a section, its first by default; None if it has none."""
    chosen = session.choices.get(way_key(section), "")
    return next((w for w in section.ways if w.key == chosen), next(iter(section.ways), None))


def shown_fields(session: Session) -> list[tuple[Field, bool]]:
    """Return the fields the form shows now, in order, each with whether it is needed."""
    shown: list[tuple[Field, bool]] = []
    for section in sections_of(source_kind(session)):
        way = chosen_way(session, section)
        shown += [(f, True) for f in (way.fields if way else ())]
        shown += [(f, False) for f in section.optional]
    return shown


def tool_fields(session: Session) -> list[Field]:
    """Return the scale errors of the instruments that entries shown now were read with."""
    entries = (session.entry(f.path) for f, _ in shown_fields(session))
    names = {dict(e.extra).get("tool", "").strip() for e in entries if not e.blank}
    return [tool_field(name) for name in sorted(names) if name]


def read_form(session: Session) -> FormReading:
    """Read the form.

    Entries of fields not shown now (another kind of source, another way) are left alone.
    """
    faults: dict[str, str] = {}
    missing: list[Field] = []
    unfinished: set[str] = set()
    entries: dict[str, HandEntry] = {}
    fields = {f.path: f for f, _ in shown_fields(session)}
    fields |= {f.path: f for f in tool_fields(session)}
    for field, needed in shown_fields(session):
        typed = session.entry(field.path)
        if typed.blank:
            if needed:
                missing.append(field)
            continue
        try:
            entries[field.path] = usable_entry(field, typed, needs_u=True)
        except SetupError as error:
            faults[field.path] = str(error)
            if isinstance(error, UncertaintyMissing):
                unfinished.add(field.path)
    tools: dict[str, HandEntry] = {}
    for field in tool_fields(session):
        typed = session.entry(field.path)
        if typed.blank:
            missing.append(field)
            continue
        try:
            # the reading of an instrument is taken as it is; only how far off it may be is asked
            entry = usable_entry(field, replace(typed, text=typed.text.strip() or "0"))
        except SetupError as error:
            faults[field.path] = str(error)
        else:
            tools[field.path.removeprefix(TOOLS)] = entry
    draft = Draft(
        source_kind(session),
        formula(session),
        entries,
        session.choices.get(TITLE, ""),
        session.choices.get(NOTES, ""),
        tools,
    )
    if missing or faults:
        return FormReading(None, faults, tuple(missing), frozenset(unfinished), entries, draft)
    problems = {p: at_the_field(s, fields.get(p)) for p, s in problems_of(draft).items()}
    setup = None if problems else draft.checked()
    return FormReading(setup, problems, (), frozenset(), entries, draft)


def fill_form(setup: Setup) -> Session:
    """Return a session whose hand measurements are those of a set-up, as typed."""
    choices = {
        SOURCE_KIND: setup.source_kind,
        FORMULA: setup.formula,
        TITLE: setup.title,
        NOTES: setup.notes,
    }
    for section in setup.sections:
        if section.ways and (way := setup.way(section.key)):
            choices[way_key(section)] = way
    run = Run(
        entries=MappingProxyType({path: typed_entry(e) for path, e in setup.entries.items()}),
        choices=MappingProxyType(choices),
        tools=MappingProxyType({name: typed_entry(e) for name, e in setup.tools.items()}),
    )
    return session_of(run)
