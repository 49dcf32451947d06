"""Reading what a person typed: numbers with a decimal point or comma, repeats, uncertainties."""

from __future__ import annotations

import math
import re

from wayside.errors import SetupError
from wayside.hand.entry import Entry as HandEntry
from wayside.hand.fields import Field, check_entry
from wayside.session.session import Entry

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_SEVERAL_SIGNS = re.compile(r"[+-]?\d+([.,']\d+){2,}")
_MINUS = str.maketrans({"−": "-", "–": "-", "\u00a0": "", "\u202f": ""})


def read_number(text: str) -> float:
    """Return the number in a text such as ``5.61``, ``5,61`` or ``-2e3``.

    Raises
    ------
    ValueError
        If it is not one plain number; ``str(error)`` is a sentence without a field name.
    """
    plain = text.strip().translate(_MINUS)
    if not plain:
        raise ValueError("There is no number yet; type one.")
    if _SEVERAL_SIGNS.fullmatch(plain):
        raise ValueError(
            f"“{text.strip()}” can be read as a number in two ways; write it with one decimal sign "
            "and no other, for example 1234.5."
        )
    if not _NUMBER.fullmatch(plain):
        raise ValueError(f"“{text.strip()}” is not a number; type digits, for example 5.61.")
    number = float(plain.replace(",", "."))
    if not math.isfinite(number):
        raise ValueError(f"“{text.strip()}” is too large; type an ordinary number.")
    return number


def read_numbers(text: str) -> tuple[float, ...]:
    """Return the numbers of repeated readings, separated by spaces or semicolons."""
    parts = [part for part in re.split(r"[;\s]+", text.strip().translate(_MINUS)) if part]
    if not parts:
        raise ValueError("There is no number yet; type one.")
    return tuple(read_number(part) for part in parts)


def hand_entry(field: Field, entry: Entry) -> HandEntry:
    """Return a typed entry as numbers.

    Raises
    ------
    SetupError
        If value or uncertainty cannot be read; carries the field's path.
    """
    try:
        numbers = read_numbers(entry.text)
        u = read_number(entry.u_text) if entry.u_text.strip() else None
        extra = dict(entry.extra)
        step = extra.get("resolution", "").strip()
        resolution = read_number(step) if step else None
    except ValueError as error:
        raise SetupError(str(error), field.path) from None
    if min(u or 0.0, resolution or 0.0) < 0:
        raise SetupError(
            "An uncertainty cannot be negative; type how far off it may be.", field.path
        )
    return HandEntry(
        value=numbers[0] if len(numbers) == 1 else None,
        unit=entry.unit or field.unit,
        u=u if entry.u_kind == "u" else None,
        half_width=u if entry.u_kind == "half_width" else None,
        resolution=u if entry.u_kind == "resolution" else resolution,
        distribution=extra.get("distribution") or None,
        readings=numbers if len(numbers) > 1 else (),
        tool=extra.get("tool", "").strip(),
    )


class UncertaintyMissing(SetupError):
    """A value that can be used, once it is said how far off it may be."""


def usable_entry(field: Field, typed: Entry, *, needs_u: bool = False) -> HandEntry:
    """Return a typed entry as numbers that its field takes.

    Parameters
    ----------
    field : Field
    typed : Entry
    needs_u : bool
        Whether an uncertainty must be given, unless the field is exact.

    Raises
    ------
    UncertaintyMissing
        Only the uncertainty is missing.
    SetupError
        The entry cannot be used; the sentence stands at the field itself.
    """
    entry = hand_entry(field, typed)
    if needs_u and not entry.has_uncertainty and not field.exact:
        raise UncertaintyMissing(
            "The uncertainty is missing: say after ± how far off this may be.", field.path
        )
    if sentence := check_entry(field, entry):
        raise SetupError(at_the_field(sentence, field), field.path)
    return entry


def at_the_field(sentence: str, field: Field | None) -> str:
    """Turn a sentence about a path into one that stands at the field itself."""
    if field is None:
        return sentence
    plain = sentence.replace(field.path, field.label)
    return plain[:1].upper() + plain[1:]


def typed_entry(entry: HandEntry) -> Entry:
    """Return an entry of a set-up file as it would have been typed."""
    extra: list[tuple[str, str]] = []
    kind, u = "u", entry.u
    if u is None and entry.half_width is not None:
        kind, u = "half_width", entry.half_width
    if u is None and entry.resolution is not None:
        kind, u = "resolution", entry.resolution
    elif entry.resolution is not None:
        extra.append(("resolution", repr(entry.resolution)))
    if entry.distribution is not None:
        extra.append(("distribution", entry.distribution))
    if entry.tool:
        extra.append(("tool", entry.tool))
    numbers = entry.readings if entry.value is None else (entry.value,)
    return Entry(
        "; ".join(_short(number) for number in numbers),
        entry.unit,
        "" if u is None else _short(u),
        kind,
        tuple(extra),
    )


def _short(number: float) -> str:
    return f"{number:.0f}" if number == round(number) and abs(number) < 1e15 else repr(number)
