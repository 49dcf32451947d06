"""From material to pages: which report, in which form."""

from __future__ import annotations

from wayside.report.blocks import Report
from wayside.report.contents.teacher import teacher_report
from wayside.report.contents.worksheet import student_worksheet
from wayside.report.html import report_as_html
from wayside.report.material import Bundle


def make_report(bundle: Bundle, student: bool = False) -> Report:
    """Return the teacher's report or the student's worksheet."""
    return student_worksheet(bundle) if student else teacher_report(bundle)


def make_html(bundle: Bundle, student: bool = False) -> bytes:
    """Return either as a self-contained web page."""
    return report_as_html(make_report(bundle, student))
