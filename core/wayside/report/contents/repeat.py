"""How to repeat the report: command, versions, settings, the file's hash, the set-up itself."""

from __future__ import annotations

import json

from wayside.hand import digits
from wayside.hand.setup_json import setup_to_json
from wayside.measure.options import MeasureOptions
from wayside.quantity import Quantity
from wayside.report.blocks import Block, Para, Section, Subhead, Table, Verbatim
from wayside.report.material import Bundle, Material
from wayside.report.text import one_line


def repeat_section(bundle: Bundle, key: str = "repeat") -> Section:
    """Return all it takes to make the same report again."""
    made = bundle.made
    blocks: list[Block] = []
    if made.command:
        blocks += [Para("This command, run beside the files, writes this report again:")]
        blocks.append(Verbatim(made.command))
    blocks.append(_files(bundle))
    if bundle.first.options is not None and bundle.first.recording is not None:
        blocks.append(_settings(bundle.first.options))
    blocks.append(Table("Versions", ("what", "version"), made.versions))
    if bundle.first.setup is not None:
        text = json.dumps(setup_to_json(bundle.first.setup), indent=1, ensure_ascii=False)
        blocks += [Subhead("The set-up file"), Verbatim(text)]
    return Section(key, "To repeat this", tuple(blocks))


def _files(bundle: Bundle) -> Table:
    rows = tuple(_file(m) for m in bundle.runs if m.media is not None)
    return Table("Files", ("file", "bytes", "SHA-256"), rows, (), frozenset({2}))


def _file(m: Material) -> tuple[str, ...]:
    assert m.media is not None
    name = m.recording.name if m.recording is not None else m.media.path.rsplit("/", 1)[-1]
    return (one_line(name), str(m.media.size), m.media.sha256)


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
