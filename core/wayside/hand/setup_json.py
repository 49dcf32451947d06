"""A set-up as JSON and back, without loss; see docs/setup-file.md."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from wayside.errors import SetupError
from wayside.hand.entry import Entry
from wayside.hand.setup import Draft, Setup, fields_of
from wayside.hand.sources import SOURCE_KINDS

FORMAT = "wayside-setup"
VERSION = 1

_TOP = ("format", "version", "title", "notes", "motion", "source", "air", "microphone", "tools")
_SECTIONS = ("motion", "source", "air", "microphone")
_CHOICES = {"source": "kind", "air": "formula"}
_ENTRY = ("value", "readings", "unit", "u", "half_width", "distribution", "resolution", "tool")


def setup_from_json(data: Any) -> Setup:
    """Return the set-up held by parsed JSON.

    Raises
    ------
    SetupError
        With one sentence and the dotted path of the first problem.
    """
    return draft_from_json(data).checked()


def draft_from_json(data: Any) -> Draft:
    """Return the draft held by parsed JSON: the right shape, not yet checked for sense."""
    if not isinstance(data, dict):
        raise SetupError(f"A set-up must be a JSON object, but this is {_kind(data)}.")
    if data.get("format") != FORMAT:
        raise SetupError(f'This is not a set-up: its "format" must be "{FORMAT}".', "format")
    version = data.get("version")
    if isinstance(version, bool) or version != VERSION:
        raise SetupError(
            f"This set-up has version {_short(version)}, but only version {VERSION} is known; "
            "use a newer program or save it again with this one.",
            "version",
        )
    _known(data, _TOP, "")
    parts = {name: _section(data, name) for name in _SECTIONS}
    kind = _choice(parts["source"], "source")
    formula = _choice(parts["air"], "air")
    if kind not in SOURCE_KINDS:
        raise SetupError(
            f'source.kind is "{_short(kind)}"; use one of {", ".join(SOURCE_KINDS)}.',
            "source.kind",
        )
    entries = {}
    known = fields_of(kind)
    for name, part in parts.items():
        allowed = [f.key for path, f in known.items() if path.startswith(f"{name}.")]
        choice = [_CHOICES[name]] if name in _CHOICES else []
        if part and not allowed:
            raise SetupError(f'{name} is not used with the source kind "{kind}"; remove it.', name)
        _known(part, [*choice, *allowed], name)
        for key, raw in part.items():
            if key not in choice:
                entries[f"{name}.{key}"] = entry_from_json(raw, f"{name}.{key}")
    return Draft(
        kind,
        formula,
        entries,
        _text(data, "title"),
        _text(data, "notes"),
        {
            name: entry_from_json(raw, f"tools.{name}")
            for name, raw in _section(data, "tools").items()
        },
    )


def setup_to_json(setup: Draft) -> dict[str, Any]:
    """Return a set-up (or draft) as plain JSON values, exactly as entered."""
    out: dict[str, Any] = {"format": FORMAT, "version": VERSION}
    out |= {k: v for k, v in (("title", setup.title), ("notes", setup.notes)) if v}
    for name in _SECTIONS:
        part: dict[str, Any] = {}
        if name == "source":
            part["kind"] = setup.source_kind
        if name == "air":
            part["formula"] = setup.formula
        for path, entry in setup.entries.items():
            section, _, key = path.partition(".")
            if section == name:
                part[key] = entry_to_json(entry)
        if part:
            out[name] = part
    if setup.tools:
        out["tools"] = {name: entry_to_json(entry) for name, entry in setup.tools.items()}
    return out


def entry_from_json(raw: Any, path: str) -> Entry:
    """Return the entry held by parsed JSON such as ``{"value": 26, "unit": "in", "u": 0.1}``."""
    if not isinstance(raw, dict):
        raise SetupError(
            f'{path} is {_kind(raw)}, but must look like {{"value": 1.0, "unit": "m", "u": 0.1}}.',
            path,
        )
    _known(raw, _ENTRY, path)
    readings = raw.get("readings", [])
    if not isinstance(readings, list):
        raise SetupError(f"{path}: readings must be a list of numbers.", path)
    if len(readings) > 10_000:
        raise SetupError(f"{path} has more than 10000 readings; give fewer.", path)
    if "readings" in raw and not readings:
        raise SetupError(f"{path}: readings is empty; give at least one number.", path)
    return Entry(
        _number(raw, "value", path),
        _word(raw, "unit", path) or "",
        _number(raw, "u", path),
        _number(raw, "half_width", path),
        _word(raw, "distribution", path),
        _number(raw, "resolution", path),
        tuple(_as_number(r, f"{path}: a reading", path) for r in readings),
        _word(raw, "tool", path) or "",
    )


def entry_to_json(entry: Entry) -> dict[str, Any]:
    """Return an entry as plain JSON values, leaving out what was not stated."""
    pairs = (
        ("value", entry.value),
        ("readings", list(entry.readings) or None),
        ("unit", entry.unit or None),
        ("u", entry.u),
        ("half_width", entry.half_width),
        ("distribution", entry.distribution),
        ("resolution", entry.resolution),
        ("tool", entry.tool or None),
    )
    return {key: value for key, value in pairs if value is not None}


def _section(data: Mapping[str, Any], name: str) -> dict[str, Any]:
    part = data.get(name, {})
    if not isinstance(part, dict):
        raise SetupError(f"{name} is {_kind(part)}, but must be a group in braces.", name)
    return part


def _choice(part: Mapping[str, Any], section: str) -> str:
    key = _CHOICES[section]
    path = f"{section}.{key}"
    if key not in part:
        raise SetupError(f"{path} is missing; add it.", path)
    if not isinstance(part[key], str):
        raise SetupError(f"{path} is {_kind(part[key])}, but must be a word in quotes.", path)
    return str(part[key])


def _known(part: Mapping[str, Any], allowed: tuple[str, ...] | list[str], path: str) -> None:
    for key in part:
        if key not in allowed:
            where = f"{path}.{_short(key)}" if path else _short(key)
            raise SetupError(
                f"{where} is not known; remove it or correct its name "
                f"(known here: {', '.join(allowed)}).",
                where,
            )


def _text(data: Mapping[str, Any], key: str) -> str:
    value = data.get(key, "")
    if not isinstance(value, str):
        raise SetupError(f"{key} is {_kind(value)}, but must be text in quotes.", key)
    return value


def _word(raw: Mapping[str, Any], key: str, path: str) -> str | None:
    value = raw.get(key)
    if key in raw and not isinstance(value, str):
        raise SetupError(f"{path}: {key} is {_kind(value)}, but must be a word in quotes.", path)
    return value


def _number(raw: Mapping[str, Any], key: str, path: str) -> float | None:
    return _as_number(raw[key], f"{path}: {key}", path) if key in raw else None


def _as_number(value: Any, what: str, path: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise SetupError(f"{what} is {_kind(value)}, but must be a number.", path)
    try:
        return float(value)
    except OverflowError:
        raise SetupError(f"{what} is far too large; check the number.", path) from None


def _kind(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, str):
        return f'the text "{_short(value)}"'
    if isinstance(value, list):
        return "a list"
    return "a group in braces" if isinstance(value, dict) else f"the number {_short(value)}"


def _short(value: Any) -> str:
    if isinstance(value, list | dict):
        return _kind(value)
    if isinstance(value, int) and abs(value) > 10**30:
        return "far too large"
    text = str(value)
    return text if len(text) <= 40 else f"{text[:37]}..."
