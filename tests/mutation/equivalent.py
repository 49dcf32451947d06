"""Faults that change nothing that matters, each with the reason.

The key is file, then the fault as it stands in the CSV.
"""

from __future__ import annotations

EQUIVALENT: dict[tuple[str, str], str] = {}
