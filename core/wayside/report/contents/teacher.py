"""The teacher's report: verdict first, then everything behind it."""

from __future__ import annotations

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
    m = bundle.run
    sections = run_sections(m)
    if bundle.rows:
        sections.append(class_section(bundle.rows))
    sections += [cautions_section(m), repeat_section(bundle)]
    return Report(one_line(m.title) or "Pass-by", about_of(bundle), (), tuple(sections))


def run_sections(m: Material) -> list[Section]:
    """Return everything about one run."""
    sections = [verdict_section(m)]
    if m.setup is not None:
        # a distance found again because it was put in is no word of the sound
        heard = None if m.closest_used else m.measurement
        sections.append(setup_section(m.setup, heard))
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
    if bundle.run.recording is not None:
        lines.append(f"Recording: {one_line(bundle.run.recording.name)}")
    if bundle.made.date:
        lines.append(f"Date: {one_line(bundle.made.date)}")
    return tuple(lines)
