"""The teacher's report: verdict first, then everything behind it."""

from __future__ import annotations

from dataclasses import replace

from wayside.report.blocks import Report, Section
from wayside.report.contents.by_hand import prediction_section, setup_section
from wayside.report.contents.by_sound import sound_section
from wayside.report.contents.cautions import cautions_section
from wayside.report.contents.class_runs import class_section
from wayside.report.contents.how_sure import budget_section
from wayside.report.contents.repeat import repeat_section
from wayside.report.contents.verdict import sides_section, verdict_section
from wayside.report.material import Bundle, Material
from wayside.report.text import one_line


def teacher_report(bundle: Bundle) -> Report:
    """Return the report."""
    m = bundle.first
    sections: list[Section] = []
    if bundle.rows:
        sections.append(class_section(bundle.rows))
    sections += run_sections(m)
    for number, other in enumerate(bundle.runs[1:], 2):
        sections += _short_sections(other, number)
    sections += [cautions_section(m), repeat_section(bundle)]
    return Report(one_line(m.title) or "Pass-by", about_of(bundle), (), tuple(sections))


def run_sections(m: Material) -> list[Section]:
    """Return everything about one run."""
    sections = [verdict_section(m)]
    if m.setup is not None:
        sections.append(setup_section(m.setup, m.measurement))
    if m.prediction is not None:
        sections.append(prediction_section(m.prediction))
    if m.recording is not None:
        sections.append(sound_section(m))
    if m.comparison is not None:
        sections.append(sides_section(m.comparison))
    if m.prediction is not None:
        sections.append(budget_section(m.prediction))
    return sections


def about_of(bundle: Bundle) -> tuple[str, ...]:
    """Return the short lines below the title."""
    lines = ["Does the pitch in the recording agree with the prediction by hand?"]
    if bundle.first.recording is not None:
        lines.append(f"Recording: {one_line(bundle.first.recording.name)}")
    if bundle.made.date:
        lines.append(f"Date: {one_line(bundle.made.date)}")
    return tuple(lines)


def _short_sections(m: Material, number: int) -> list[Section]:
    """Return verdict, sound and side-by-side of a further run."""
    parts = [verdict_section(m, f"run-{number}-verdict")]
    if m.recording is not None:
        parts.append(sound_section(m, f"run-{number}-by-sound"))
    if m.comparison is not None:
        parts.append(sides_section(m.comparison, f"run-{number}-side-by-side"))
    name = one_line(m.title)
    return [
        replace(s, title=f"{name}: {s.title[:1].lower()}{s.title[1:]}", new_page=k == 0)
        for k, s in enumerate(parts)
    ]
