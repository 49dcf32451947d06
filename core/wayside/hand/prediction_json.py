"""The prediction as JSON values; see docs/json-output.md for the stable schema."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from wayside.hand.budget import BudgetLine
from wayside.hand.methods import Methods
from wayside.hand.monte_carlo import MonteCarlo
from wayside.hand.predict import Prediction
from wayside.hand.setup_json import setup_to_json
from wayside.hand.steps import Step
from wayside.quantity import Quantity

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

FORMAT = "wayside-prediction"
VERSION = 1

_EVERYWHERE = ("approach_hz", "recede_hz", "source_hz", "speed_mps", "closest_m")
_REST = ("passing_time_s", "sound_speed_mps")
_EXTRA = ("shift_up_hz", "shift_down_hz", "drop_cents", "cycles_per_metre")


def prediction_as_json(p: Prediction) -> dict[str, Any]:
    """Return the documented JSON values of a prediction."""
    return {
        "format": FORMAT,
        "version": VERSION,
        **{name: quantity_json(getattr(p, name)) for name in (*_EVERYWHERE, *_REST, *_EXTRA)},
        "steps": [step_json(s) for s in (*p.conversions, *p.steps)],
        "budget": {name: [_line(b) for b in lines] for name, lines in p.budget.items()},
        "dof": {name: n if math.isfinite(n) else None for name, n in p.dof.items()},
        "correlation": [
            {"between": list(pair), "r": r} for pair, r in p.correlation.items() if abs(r) > 1e-12
        ],
        "formulas": [
            {
                "formula": e.formula,
                "sound_speed_mps": e.sound_speed_mps,
                "approach_hz": e.approach_hz,
                "recede_hz": e.recede_hz,
                "chosen": e.formula == p.setup.formula,
            }
            for e in p.formulas
        ],
        "notes": list(p.notes),
        "setup": setup_to_json(p.setup),
    }


def quantity_json(q: Quantity | None) -> dict[str, Any] | None:
    """Return ``{"value", "u", "unit"}`` or None."""
    return None if q is None else q.as_json()


def step_json(step: Step) -> dict[str, Any]:
    """Return one worked step, as text and LaTeX."""
    return {
        "title": step.title,
        "formula": step.formula,
        "numbers": step.numbers,
        "result": step.result,
        "latex": [step.formula_latex, step.numbers_latex, step.result_latex],
        "quantity": step.quantity.as_json(),
        "note": step.note,
    }


def _line(b: BudgetLine) -> dict[str, Any]:
    return {
        "path": b.path,
        "label": b.label,
        "value": b.value,
        "u": b.u,
        "unit": b.unit,
        "sensitivity": b.sensitivity if math.isfinite(b.sensitivity) else None,
        "contribution": b.contribution,
        "share": b.share,
        "assumed": b.assumed,
        "dof": b.dof if math.isfinite(b.dof) else None,
    }


def monte_carlo_as_json(m: MonteCarlo) -> dict[str, Any]:
    """Return sampling beside linear propagation as JSON values."""
    return {
        "draws": m.draws,
        "dropped": m.dropped,
        "results": {
            name: _plain(s, ("name", "label", "edges", "density")) for name, s in m.results.items()
        },
        "notes": list(m.notes),
    }


def methods_as_json(m: Methods) -> dict[str, Any]:
    """Return shortcuts, rounding and near reading windows as JSON values."""
    return {
        "shortcuts": [_plain(s, ("label",)) for s in m.shortcuts],
        "rounding": [_plain(s, ("label",)) for s in m.rounding],
        "near": [_plain(n) for n in m.near],
        "wind": [_plain(w) for w in m.wind],
    }


def _plain(record: DataclassInstance, leave: tuple[str, ...] = ()) -> dict[str, Any]:
    values = {f.name: getattr(record, f.name) for f in fields(record) if f.name not in leave}
    return {
        key: None if isinstance(v, float) and not math.isfinite(v) else v
        for key, v in values.items()
    }
