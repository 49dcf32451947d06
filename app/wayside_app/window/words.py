"""Words that come from tables in core: looked up for translation under one context."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

TABLES = "Tables"


def said(text: str) -> str:
    """Return a label or hint of a core table in the user's language."""
    return QCoreApplication.translate(TABLES, text) if text else ""
