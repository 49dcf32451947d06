"""A row as JSON values and back without loss; see docs/json-output.md."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from wayside.errors import InputError
from wayside.quantity import Quantity
from wayside.review.parts import Part
from wayside.review.row import COMPARED, FAILED, MEASURED, REFUSED, WAITING, RunRow, Sides

_TEXTS = ("group", "direction", "overall", "verdict", "sentence", "source_model", "method")
_SIDES = ("predicted", "measured", "difference")


def row_as_json(row: RunRow) -> dict[str, Any]:
    """Return the documented JSON values of a row."""
    out: dict[str, Any] = {"name": row.name, "outcome": row.outcome}
    out |= {key: getattr(row, key) for key in _TEXTS}
    for name in COMPARED:
        sides = row.sides(name)
        out[name] = {
            **{key: _quantity(getattr(sides, key)) for key in _SIDES},
            "e_n": sides.e_n,
            "verdict": sides.verdict,
        }
    out["acceleration_mps2"] = _quantity(row.acceleration_mps2)
    out["sound_speed_mps"] = _quantity(row.sound_speed_mps)
    out["warnings"] = list(row.warnings)
    out["parts"] = {
        name: [
            {"path": p.path, "value": p.value, "u": p.u, "contribution": p.contribution}
            for p in parts
        ]
        for name, parts in row.parts.items()
    }
    return out


def row_from_json(data: Any) -> RunRow:
    """Return the row held by parsed JSON.

    Raises
    ------
    InputError
        If this is no such row.
    """
    try:
        return _row(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(
            f"This is not the row of a run ({type(error).__name__}); measure the recording again."
        ) from None


def _row(data: Mapping[str, Any]) -> RunRow:
    if data["outcome"] not in (WAITING, MEASURED, REFUSED, FAILED):
        raise ValueError(data["outcome"])
    return RunRow(
        name=str(data["name"]),
        outcome=data["outcome"],
        **{key: str(data[key]) for key in _TEXTS},  # type: ignore[arg-type]
        **{name: _sides(data[name]) for name in COMPARED},  # type: ignore[arg-type]
        acceleration_mps2=_read(data["acceleration_mps2"]),
        sound_speed_mps=_read(data["sound_speed_mps"]),
        warnings=tuple(str(w) for w in data["warnings"]),
        parts={
            str(name): tuple(
                Part(str(p["path"]), float(p["value"]), float(p["u"]), float(p["contribution"]))
                for p in parts
            )
            for name, parts in data["parts"].items()
        },
    )


def _sides(data: Mapping[str, Any]) -> Sides:
    e_n = data["e_n"]
    predicted, measured, difference = (_read(data[key]) for key in _SIDES)
    return Sides(
        predicted,
        measured,
        difference,
        None if e_n is None else float(e_n),
        str(data["verdict"]),
    )


def _quantity(q: Quantity | None) -> dict[str, Any] | None:
    return None if q is None else q.as_json()


def _read(data: Mapping[str, Any] | None) -> Quantity | None:
    if data is None:
        return None
    value, u = data["value"], data["u"]
    return Quantity(
        math.nan if value is None else float(value),
        math.inf if u is None else float(u),
        str(data["unit"]),
    )
