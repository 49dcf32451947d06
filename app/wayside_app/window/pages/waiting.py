"""What a sheet says while the form is not complete."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

from wayside.session.hand_form import FormReading
from wayside_app.window.words import said


def waiting_for(reading: FormReading) -> str:
    """Return one sentence on what is still needed in the form."""
    if reading.faults:
        return _tr(
            "One entry of the form cannot be used yet; it says at the field what to do. "
            "This sheet fills as soon as it is mended."
        )
    names = ", ".join(said(field.label) for field in reading.missing)
    return _tr("This sheet fills as soon as the form holds: {names}.").format(names=names)


def _tr(text: str) -> str:
    return QCoreApplication.translate("Pages", text)
