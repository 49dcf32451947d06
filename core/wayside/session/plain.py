"""Frozen values to JSON and back, bit for bit, by their type hints.

Numbers JSON has no word for are written as text; arrays as the bytes of 64-bit floats in base64.
"""

from __future__ import annotations

import base64
import binascii
import math
import types
import typing
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

import numpy as np

_ODD = {"inf": math.inf, "-inf": -math.inf, "nan": math.nan}
_MOST_NUMBERS = 2_000_000


class NotPlain(ValueError):
    """The JSON does not hold what the type asks for."""


def to_plain(value: Any) -> Any:
    """Return a value made of frozen dataclasses, tuples, arrays and plain values as JSON values."""
    if is_dataclass(value):
        return {f.name: to_plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, np.ndarray):
        raw = np.ascontiguousarray(value, dtype="<f8").tobytes()
        return {"shape": list(value.shape), "f8": base64.b64encode(raw).decode("ascii")}
    if isinstance(value, tuple):
        return [to_plain(part) for part in value]
    if isinstance(value, float | np.floating):
        number = float(value)
        return number if math.isfinite(number) else str(number)
    if isinstance(value, np.bool_ | np.integer):
        return value.item()
    return value


def from_plain(kind: Any, data: Any) -> Any:
    """Return the value of a type that JSON values hold.

    Raises
    ------
    NotPlain
        If they hold something else.
    """
    origin = typing.get_origin(kind)
    if origin in (types.UnionType, typing.Union):
        return _one_of(typing.get_args(kind), data)
    if origin is tuple:
        return _tuple(typing.get_args(kind), data)
    if is_dataclass(kind):
        return _dataclass(kind, data)
    if kind is np.ndarray or origin is np.ndarray:
        return _array(data)
    if kind is float:
        return _float(data)
    if kind in (int, str, bool) and type(data) is kind:
        return data
    if kind is type(None) and data is None:
        return None
    raise NotPlain(f"{kind} is not {str(data)[:40]}")


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _dataclass(kind: Any, data: Any) -> Any:
    if not isinstance(data, dict):
        raise NotPlain(f"{kind.__name__} is a group")
    names = {f.name for f in fields(kind)}
    if set(data) != names:
        raise NotPlain(f"{kind.__name__} has other parts")
    return kind(**{name: from_plain(_hints(kind)[name], data[name]) for name in names})


def _one_of(kinds: tuple[Any, ...], data: Any) -> Any:
    for kind in kinds:
        try:
            return from_plain(kind, data)
        except NotPlain:
            continue
    raise NotPlain("none of the types fits")


def _tuple(kinds: tuple[Any, ...], data: Any) -> tuple[Any, ...]:
    if not isinstance(data, list):
        raise NotPlain("a tuple is a list")
    if len(kinds) == 2 and kinds[1] is Ellipsis:
        return tuple(from_plain(kinds[0], part) for part in data)
    if len(kinds) != len(data):
        raise NotPlain("a list of another length")
    return tuple(from_plain(kind, part) for kind, part in zip(kinds, data, strict=True))


def _float(data: Any) -> float:
    if isinstance(data, str) and data in _ODD:
        return _ODD[data]
    if isinstance(data, int | float) and not isinstance(data, bool) and math.isfinite(data):
        return float(data)
    raise NotPlain("no number")


def _array(data: Any) -> Any:
    if not isinstance(data, dict) or set(data) != {"shape", "f8"}:
        raise NotPlain("no array")
    shape = data["shape"]
    if not isinstance(shape, list) or not all(type(n) is int and n >= 0 for n in shape):
        raise NotPlain("no shape")
    if math.prod(shape) > _MOST_NUMBERS or not isinstance(data["f8"], str):
        raise NotPlain("no array of a sensible size")
    try:
        flat = np.frombuffer(base64.b64decode(data["f8"], validate=True), dtype="<f8")
        return flat.astype(np.float64).reshape(shape)
    except (ValueError, binascii.Error):
        raise NotPlain("no array") from None
