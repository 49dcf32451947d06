"""The comparison as JSON values; see docs/json-output.md for the stable schema."""

from __future__ import annotations

import math
from typing import Any

from wayside.compare.result import Comparison, Explanation, Reading, Row, TurnedRound
from wayside.hand.prediction_json import prediction_as_json

FORMAT = "wayside-comparison"
VERSION = 1


def comparison_as_json(c: Comparison) -> dict[str, Any]:
    """Return the documented JSON values of a comparison, without the measurement block."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "found": True,
        "overall": c.overall,
        "verdict": c.verdict,
        "joint_test": {"chi_square": _n(c.chi_square), "dof": c.dof, "p_value": _n(c.p_value)},
        "rows": {row.name: _row(row) for row in c.rows},
        "explanations": [_explanation(e) for e in c.explanations],
        "turned_round": [_turned(t) for t in c.turned_round],
        "readings": [_reading(r) for r in c.readings],
        "notes": list(c.notes),
        "prediction": prediction_as_json(c.prediction),
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "predicted": row.predicted.as_json(),
        "measured": row.measured.as_json(),
        "difference": row.difference.as_json(),
        "k": row.k,
        "percent": _n(row.percent),
        "cents": _n(row.cents),
        "e_n": _n(row.e_n),
        "verdict": row.verdict,
        "sentence": row.sentence,
    }


def _explanation(e: Explanation) -> dict[str, Any]:
    return {
        "path": e.path,
        "label": e.label,
        "given": {"value": e.given, "u": e.u, "unit": e.unit},
        "needed": e.needed.as_json(),
        "off": e.off,
        "sigmas": _n(e.sigmas),
        "explains": e.explains,
        "remaining_chi_square": e.remaining,
        "assumed": e.assumed,
        "sentence": e.sentence,
    }


def _turned(t: TurnedRound) -> dict[str, Any]:
    return {
        "path": t.path,
        "value": t.value.as_json(),
        "given": t.given.as_json(),
        "sentence": t.sentence,
    }


def _reading(r: Reading) -> dict[str, Any]:
    return {
        "window": r.name,
        "start_s": r.start_s,
        "stop_s": r.stop_s,
        "read": r.read.as_json(),
        "far_hz": r.far_hz,
        "here_hz": r.here_hz,
        "sentence": r.sentence,
    }


def _n(x: float | None) -> float | None:
    return x if x is not None and math.isfinite(x) else None
