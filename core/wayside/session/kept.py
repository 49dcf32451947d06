"""Results of measuring, kept in the session file so that they are there at once on opening.

A result is known by a stamp over the recording's content, the options it was measured with and
the program; whatever changes any of them makes the stamp another, and the run is measured again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

import wayside
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.session.plain import NotPlain, from_plain, to_plain
from wayside.session.run import MediaRef

Results = Mapping[str, Measurement]
"""Results by stamp."""


def stamp(media: MediaRef | None, options: MeasureOptions) -> str:
    """Return what a result is known by; empty while the recording's content is not known."""
    if media is None or not media.sha256:
        return ""
    return _digest(
        {
            "program": wayside.__version__,
            "recording": media.sha256,
            "options": to_plain(options),
        }
    )


def kept_to_json(mark: str, measurement: Measurement) -> dict[str, Any]:
    """Return a result as plain values."""
    result = to_plain(measurement)
    return {"stamp": mark, "check": _digest([mark, result]), "result": result}


def kept_from_json(data: Any) -> tuple[str, Measurement] | None:
    """Return stamp and result; None when anything about them is not as it was written.

    A result is never worth refusing a session for: the run is measured again.
    """
    try:
        mark, check, result = data["stamp"], data["check"], data["result"]
        if not isinstance(mark, str) or _digest([mark, result]) != check:
            return None
        return mark, from_plain(Measurement, result)
    except (KeyError, TypeError, NotPlain):
        return None


def _digest(data: Any) -> str:
    text = json.dumps(data, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()
