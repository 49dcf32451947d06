"""Messages between a decoding child and its parent: one tag byte, a length, the payload."""

from __future__ import annotations

import json
import struct
from typing import Any, BinaryIO

_HEADER = struct.Struct("<cI")
LARGEST_MESSAGE = 1 << 28


def write_message(stream: BinaryIO, tag: bytes, *parts: bytes | memoryview) -> None:
    """Write one message and flush it."""
    stream.write(_HEADER.pack(tag, sum(len(part) for part in parts)))
    for part in parts:
        stream.write(part)
    stream.flush()


def write_json(stream: BinaryIO, tag: bytes, value: Any) -> None:
    """Write one message that holds JSON."""
    write_message(stream, tag, json.dumps(value).encode())


def read_message(stream: BinaryIO) -> tuple[bytes, bytes] | None:
    """Read one message as (tag, payload); None at the end or where the stream breaks off."""
    header = stream.read(_HEADER.size)
    if len(header) < _HEADER.size:
        return None
    tag, size = _HEADER.unpack(header)
    if size > LARGEST_MESSAGE:
        return None
    payload = stream.read(size)
    return (tag, payload) if len(payload) == size else None
