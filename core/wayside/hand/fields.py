"""What may be entered: every field with its limits, symbol and a hint how to measure it well.

A section is filled in by exactly one of its ways (crossing times or frames, say) plus
optional extras. All words shown to users sit in these tables, so they can be translated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import chain

from wayside.hand.entry import DISTRIBUTIONS, Entry
from wayside.hand.units import SI_SYMBOL, Dimension, Unit, find_unit, units_of


@dataclass(frozen=True)
class Field:
    """One thing to measure.

    Parameters
    ----------
    path : str
        Dotted path in the set-up file, e.g. ``"motion.marker_distance"``.
    label : str
        Name on forms and in reports.
    symbol, latex : str
        Symbol in worked steps, plain and LaTeX.
    dimension : Dimension
    low, high : float
        Sensible limits in SI, both allowed.
    hint : str
        How to measure it well.
    unit : str
        Unit a form proposes.
    whole : bool
        True when only whole numbers make sense.
    exact : bool
        True when leaving the uncertainty out means exactly known.
    positive : bool
        True when the quantity cannot be zero or negative whatever the limits.
    """

    path: str
    label: str
    symbol: str
    latex: str
    dimension: Dimension
    low: float
    high: float
    hint: str
    unit: str
    whole: bool = False
    exact: bool = False
    positive: bool = True

    @property
    def key(self) -> str:
        """Last part of the path."""
        return self.path.rsplit(".", 1)[-1]

    @property
    def section(self) -> str:
        """First part of the path."""
        return self.path.split(".", 1)[0]

    @property
    def si_symbol(self) -> str:
        """Unit symbol used inside."""
        return SI_SYMBOL[self.dimension]

    def unit_of(self, entry: Entry) -> Unit:
        """Return the unit an entry of this field is in; it must have been checked."""
        unit = find_unit(self.dimension, entry.unit)
        if unit is None:
            raise ValueError(f"{self.path}: unit {entry.unit!r} was not checked")
        return unit

    def si(self, entry: Entry) -> float:
        """Return an entry's best estimate in SI."""
        return self.unit_of(entry).to_si(entry.best)


@dataclass(frozen=True)
class Way:
    """One set of fields that together fill a section."""

    key: str
    label: str
    fields: tuple[Field, ...]


@dataclass(frozen=True)
class Section:
    """One block of the set-up: exactly one way, plus extras that may be left out."""

    key: str
    label: str
    ways: tuple[Way, ...] = ()
    optional: tuple[Field, ...] = ()

    @property
    def fields(self) -> tuple[Field, ...]:
        """Every field of the section, each once."""
        all_fields = chain(chain.from_iterable(w.fields for w in self.ways), self.optional)
        return tuple({f.path: f for f in all_fields}.values())

    def way_of(self, keys: frozenset[str]) -> Way | None:
        """Return the way whose fields are all present and no other way's are."""
        spare = {f.key for f in self.optional}
        for way in self.ways:
            if {f.key for f in way.fields} == keys - spare:
                return way
        return None


def check_entry(field: Field, entry: Entry) -> str | None:
    """Return one sentence on what is wrong with an entry, or None if it is fine."""
    unit = find_unit(field.dimension, entry.unit)
    if unit is None:
        known = ", ".join(u.symbol or '""' for u in units_of(field.dimension))
        given = f'the unit "{entry.unit}"' if entry.unit else "no unit"
        return f"{field.path} has {given}; use one of {known}."
    return (
        _check_numbers(field, entry)
        or _check_range(field, entry, unit)
        or _check_uncertainty(field, entry, unit)
    )


def _check_numbers(field: Field, entry: Entry) -> str | None:
    if entry.value is None and len(entry.readings) == 0:
        return f"{field.path} has no value; give a number."
    if entry.value is not None and entry.readings:
        return f"{field.path} has both a value and readings; keep one of them."
    numbers = (
        entry.best,
        entry.u,
        entry.half_width,
        entry.resolution,
        *entry.readings,
    )
    if not all(math.isfinite(x) for x in numbers if x is not None):
        return f"{field.path} holds a number that is not finite; give an ordinary number."
    if entry.distribution is not None and entry.distribution not in DISTRIBUTIONS:
        known = ", ".join(DISTRIBUTIONS)
        return f'{field.path} has the distribution "{entry.distribution}"; use one of {known}.'
    return None


def _check_range(field: Field, entry: Entry, unit: Unit) -> str | None:
    slack = 1e-9 * max(abs(field.low), abs(field.high))
    for value in (entry.best, *entry.readings):
        if not field.low - slack <= unit.to_si(value) <= field.high + slack:
            low, high = unit.from_si(field.low), unit.from_si(field.high)
            return (
                f"{field.path} is {_plain(value, unit)}, but must lie between "
                f"{_plain(low, unit)} and {_plain(high, unit)}; check the number and its unit."
            )
    if field.whole and entry.best != round(entry.best):
        return f"{field.path} is {entry.best:g}, but only a whole number makes sense here."
    return None


def _check_uncertainty(field: Field, entry: Entry, unit: Unit) -> str | None:
    if entry.u is not None and entry.half_width is not None:
        return f"{field.path} has both u and half_width; keep one of them."
    for name, part in (
        ("u", entry.u),
        ("half_width", entry.half_width),
        ("resolution", entry.resolution),
    ):
        if part is not None and part < 0:
            return f"{field.path}: {name} is {part:g}, but an uncertainty cannot be negative."
    if not entry.has_uncertainty and not field.exact:
        return (
            f"{field.path} has no uncertainty; add u (one standard uncertainty), half_width "
            "or resolution, or repeated readings."
        )
    largest = abs(unit.to_si(entry.best)) if field.positive else 2.0 * (field.high - field.low)
    if unit.u_to_si(entry.standard_u) >= largest:
        return (
            f"{field.path} has an uncertainty of {_plain(entry.standard_u, unit)}, which is as "
            "large as the value itself; measure it better or check the unit."
        )
    return None


def _plain(value: float, unit: Unit) -> str:
    return f"{value:.6g} {unit.symbol}".rstrip()
