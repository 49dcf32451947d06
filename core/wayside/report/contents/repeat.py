"""How to repeat the report: command, versions, settings, the file's hash, the set-up itself."""

from __future__ import annotations

import json
from pathlib import PurePath
from typing import Any

from wayside.hand import digits
from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_to_json
from wayside.measure.options import MeasureOptions
from wayside.quantity import Quantity
from wayside.report.blocks import Block, Para, Section, Subhead, Table, Verbatim
from wayside.report.material import Bundle
from wayside.report.text import one_line
from wayside.session.run import MediaRef

_UNSAVED = (
    "This report was written from a session that was not saved. Save the session: the command "
    "wayside report then writes the report again."
)


def repeat_section(bundle: Bundle, key: str = "repeat") -> Section:
    """Return all it takes to make the same report again."""
    made = bundle.made
    blocks: list[Block] = []
    if made.command:
        blocks += [Para("This command, run beside the files, writes this report again:")]
        blocks.append(Verbatim(made.command))
    else:
        blocks.append(Para(_UNSAVED))
    if bundle.run.media is not None or bundle.files:
        blocks.append(_files(bundle))
    if bundle.run.options is not None and bundle.run.recording is not None:
        blocks.append(_settings(bundle.run.options))
    blocks.append(Table("Versions", ("what", "version"), made.versions))
    if bundle.run.setup is not None:
        blocks += [Subhead("The set-up file"), Verbatim(setup_text(bundle.run.setup))]
    return Section(key, "To repeat this", tuple(blocks))


def setup_text(setup: Setup) -> str:
    """Return a set-up file's content, one line an entry."""
    lines = []
    for key, part in setup_to_json(setup).items():
        if isinstance(part, dict):
            inner = ",\n".join(f"  {_json(k)}: {_json(v)}" for k, v in part.items())
            lines.append(f" {_json(key)}: {{\n{inner}\n }}")
        else:
            lines.append(f" {_json(key)}: {_json(part)}")
    return "{\n" + ",\n".join(lines) + "\n}"


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _files(bundle: Bundle) -> Table:
    own = () if bundle.run.media is None else (bundle.run.media,)
    rows = tuple(_file(media) for media in (*own, *bundle.files))
    return Table("Files", ("file", "bytes", "SHA-256"), rows, (), frozenset({2}))


def _file(media: MediaRef) -> tuple[str, ...]:
    name = one_line(PurePath(media.path).name)
    size = str(media.size) if media.size >= 0 else "unknown"
    return (name, size, media.sha256 or "not read")


def _settings(o: MeasureOptions) -> Table:
    rows = (
        ("speed of sound", digits.full_text(o.sound_speed)),
        ("kind of source", o.source_kind),
        ("closest distance known beforehand", _or(o.closest)),
        ("pattern elements per metre known beforehand", _or(o.cycles_per_metre)),
        ("stretch looked at", _span((o.start_s, o.stop_s), "s")),
        ("pitches looked for", _span(o.band_hz, "Hz")),
        ("approach window", _span(o.approach_window_s, "s")),
        ("recede window", _span(o.recede_window_s, "s")),
        ("uncertainty of the recorder's clock", f"{o.clock_ppm:g} ppm"),
    )
    return Table("Settings of the measurement", ("setting", "value"), rows)


def _or(q: Quantity | None) -> str:
    return "none" if q is None else digits.full_text(q)


def _span(span: tuple[float | None, float | None] | None, unit: str) -> str:
    if span is None or span == (None, None):
        return "chosen by the program"
    low, high = span
    ends = [
        "start" if low is None else f"{low:g} {unit}",
        "end" if high is None else f"{high:g} {unit}",
    ]
    return " to ".join(ends)
