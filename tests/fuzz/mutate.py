"""Damage to files, as cables, editors and pranks do it: bytes of media, values of JSON."""

from __future__ import annotations

import copy
import json
import struct
from random import Random
from typing import Any

_COUNTS = (1, 1, 1, 1, 2, 2, 3, 5, 9)
_ODD_NUMBERS = (0, 1, -1, 127, 128, 255, 32767, 32768, 65535, 2**31 - 1, 2**31, 2**32 - 1)
_ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -0.0, 1, -1, 2, 1e-320, 1e308, -1e308, 10**30, 10**299, 0.1, "", " ",
    "m", "Hz", "\ud800", "\u0000", "\n", "a" * 300, "𝛼", "nan", "1e5", [], {}, [[]], [1, 2], [2, 1],
    [0.0, 1e300], {"value": 1}, {"value": 1.0, "unit": "m", "u": 0.1}, {"": ""}, "../../etc/passwd",
    "wheel", "tone", "whirled", "humid-air", "rectangular", -40.0, 273.15, 99999999,
)  # fmt: skip
_FRAGMENTS = (
    b"NaN", b"Infinity", b"-Infinity", b"1e999", b"-1e999", b"\xff", b"\xc3", b"\x00", b"{", b"}",
    b"[", b"]", b'"', b",", b":", b"\\u0000", b"\\ud83d", b"[" * 22, b"null", b"true",
    b"1" * 400, b"-", b"\xef\xbb\xbf", b"/*", b"'", b"0x10", b"01", b"\r\n", b"\xe2\x80\xa8",
)  # fmt: skip


def damaged_bytes(data: bytes, rng: Random, most: int = 1 << 20) -> bytes:
    """Return `data` with one to a dozen places damaged; never longer than `most` bytes."""
    out = bytearray(data)
    for _ in range(rng.choice(_COUNTS)):
        rng.choice(_DAMAGES)(out, rng)
        if not out:
            break
    return bytes(out[:most])


def _place(out: bytearray, rng: Random) -> int:
    # headers and indexes decide more than samples do
    end = len(out)
    where = rng.random()
    if where < 0.5:
        return rng.randrange(min(end, 600))
    if where < 0.75:
        return max(0, end - 1 - rng.randrange(min(end, 3000)))
    return rng.randrange(end)


def _flip(out: bytearray, rng: Random) -> None:
    out[_place(out, rng)] ^= 1 << rng.randrange(8)


def _byte(out: bytearray, rng: Random) -> None:
    out[_place(out, rng)] = rng.randrange(256)


def _number(out: bytearray, rng: Random) -> None:
    at = _place(out, rng)
    size = rng.choice((1, 2, 4, 8))
    value = rng.choice(_ODD_NUMBERS) & (256**size - 1)
    out[at : at + size] = value.to_bytes(size, rng.choice(("big", "little")))


def _nudge(out: bytearray, rng: Random) -> None:
    at = _place(out, rng)
    raw = bytes(out[at : at + 4])
    if len(raw) == 4:
        order = rng.choice("<>")
        value = struct.unpack(order + "I", raw)[0] + rng.choice((-1, 1, 8, -8, 255))
        out[at : at + 4] = struct.pack(order + "I", value & 0xFFFFFFFF)


def _cut(out: bytearray, rng: Random) -> None:
    at = _place(out, rng)
    del out[at : at + rng.choice((1, 4, 17, 300, 5000))]


def _end_early(out: bytearray, rng: Random) -> None:
    del out[max(1, _place(out, rng)) :]


def _repeat(out: bytearray, rng: Random) -> None:
    at = _place(out, rng)
    out[at:at] = out[at : at + rng.choice((1, 8, 64, 2000))]


def _noise(out: bytearray, rng: Random) -> None:
    at = _place(out, rng)
    n = rng.choice((2, 16, 200))
    out[at : at + n] = rng.randbytes(n)


def _zeros(out: bytearray, rng: Random) -> None:
    at = _place(out, rng)
    n = rng.choice((4, 64, 1000))
    out[at : at + n] = bytes(min(n, len(out) - at))


def _swap(out: bytearray, rng: Random) -> None:
    a, b, n = _place(out, rng), _place(out, rng), rng.choice((4, 32, 512))
    first, second = bytes(out[a : a + n]), bytes(out[b : b + n])
    if len(first) == len(second) == n:
        out[a : a + n], out[b : b + n] = second, first


_DAMAGES = (_flip, _byte, _number, _nudge, _cut, _end_early, _repeat, _noise, _zeros, _swap)


def damaged_text(text: str, rng: Random) -> bytes:
    """Return a JSON text whose values, keys or letters are damaged."""
    if rng.random() < 0.25:
        return _damaged_letters(text.encode(), rng)
    data = json.loads(text)
    for _ in range(rng.choice(_COUNTS)):
        data = _damaged_value(data, rng)
    raw = json.dumps(data, ensure_ascii=rng.random() < 0.5).encode("utf-8", "surrogatepass")
    return _damaged_letters(raw, rng) if rng.random() < 0.05 else raw


def _damaged_letters(raw: bytes, rng: Random) -> bytes:
    out = bytearray(raw)
    for _ in range(rng.choice(_COUNTS)):
        at = rng.randrange(len(out) + 1)
        how = rng.randrange(4)
        if how == 0:
            out[at:at] = rng.choice(_FRAGMENTS)
        elif how == 1:
            del out[at : at + rng.choice((1, 1, 5, 100))]
        elif how == 2 and at < len(out):
            out[at] = rng.randrange(256)
        else:
            out[at:at] = out[at : at + rng.choice((1, 20, 200))]
    return bytes(out)


def _places(data: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [at]
    if isinstance(data, dict):
        for key in data:
            found += _places(data[key], (*at, key))
    elif isinstance(data, list):
        for i, item in enumerate(data):
            found += _places(item, (*at, i))
    return found


def _inside(data: Any, at: tuple[Any, ...]) -> Any:
    for key in at:
        data = data[key]
    return data


def _damaged_value(data: Any, rng: Random) -> Any:
    data = copy.deepcopy(data)
    places = _places(data)[1:]
    if not places:
        return copy.deepcopy(rng.choice(_ODD_VALUES))
    how = rng.randrange(10)
    numbers = [at for at in places if type(_inside(data, at)) in (int, float)]
    # most numbers leave a file that can be read, and wrong numbers are worse than wrong files
    at = rng.choice(numbers if how >= 6 and numbers else places)
    group, key = _inside(data, at[:-1]), at[-1]
    if how <= 1:
        group[key] = copy.deepcopy(rng.choice(_ODD_VALUES))
    elif how == 2:
        del group[key]
    elif how == 3:
        group[key] = copy.deepcopy(_inside(data, rng.choice(places)))
    elif how == 4 and isinstance(group, dict):
        words = (
            "",
            "value",
            "u",
            "unit",
            "readings",
            key.upper(),
            key + " ",
            "x" * 200,
            "\ud800",
            "\n",
        )
        group[rng.choice(words)] = group.pop(key)
    elif how >= 6 and at in numbers:
        group[key] = rng.choice((-1, 0, 1e-9, 0.5, 0.9, 1.1, 2, 10, 1e9, 1e300)) * group[key]
    elif isinstance(group, dict):
        words = (
            "co2",
            "pressure",
            "humidity",
            "resolution",
            "half_width",
            "tool",
            "distribution",
            "extra",
        )
        group[rng.choice(words)] = copy.deepcopy(rng.choice(_ODD_VALUES))
    else:
        group.insert(key, copy.deepcopy(rng.choice(_ODD_VALUES)))
    return data
