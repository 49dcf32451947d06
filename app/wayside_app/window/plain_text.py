"""Text of users and files where Qt would take it for markup."""

from __future__ import annotations

import html


def plain_tip(text: str) -> str:
    """Return a tool tip that shows a text letter by letter, whatever it looks like."""
    return f"<qt>{html.escape(text)}</qt>" if text else ""


def plain_action(text: str) -> str:
    """Return a menu entry that shows a text letter by letter; a lone & would be a key."""
    return text.replace("&", "&&")
