"""What the readings and limits of one entry come to: value and standard uncertainty."""

from __future__ import annotations

from statistics import stdev

from PySide6.QtCore import QCoreApplication

from wayside.hand.entry import Entry
from wayside.hand.fields import Field
from wayside.quantity import Quantity
from wayside_app.window import figures


def summary(field: Field, entry: Entry | None) -> str:
    """Return one short sentence; empty where value and u stand there as typed."""
    if entry is None:
        return ""
    n = len(entry.readings)
    only_u = entry.half_width is None and entry.resolution is None
    if n < 2 and only_u:
        return ""
    unit = entry.unit or field.unit
    text = _tr("u = {u}").format(u=figures.bare_u(Quantity(entry.best, entry.standard_u, unit)))
    if n < 2:
        return text
    scatter = stdev(entry.readings)
    mean = figures.value(Quantity(entry.best, entry.standard_u, unit))
    spread = figures.bare_u(Quantity(0.0, scatter, unit))
    return _tr("mean of {n}: {mean}, scatter {s}, {u}").format(n=n, mean=mean, s=spread, u=text)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Summary", text)
