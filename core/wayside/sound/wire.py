"""How decoded sound travels from the child process: tagged, length-prefixed messages."""

from __future__ import annotations

import json
import struct
from dataclasses import asdict
from typing import Any, BinaryIO

import numpy as np

from wayside.errors import MediaError
from wayside.sound.recording import Gap
from wayside.sound.soundtrack_events import Block, End, Event, Start

_HEADER = struct.Struct("<cI")
LARGEST_MESSAGE = 1 << 26


def send(stream: BinaryIO, event: Event) -> None:
    """Write one event."""
    if isinstance(event, Block):
        payload = np.ascontiguousarray(event.samples, dtype="<f4").tobytes()
        _write(stream, b"B", payload)
    else:
        tag = b"S" if isinstance(event, Start) else b"E"
        _write(stream, tag, json.dumps(asdict(event)).encode())


def send_error(stream: BinaryIO, sentence: str) -> None:
    """Write the sentence of a `MediaError`."""
    _write(stream, b"X", sentence.encode())


def _write(stream: BinaryIO, tag: bytes, payload: bytes) -> None:
    stream.write(_HEADER.pack(tag, len(payload)))
    stream.write(payload)
    stream.flush()


def receive(stream: BinaryIO, n_channels: int) -> Event | None:
    """Read one event; None at the end of the stream or when it breaks off.

    Parameters
    ----------
    stream : binary stream
    n_channels : int
        From the `Start` event; any value before it.

    Raises
    ------
    MediaError
        The child sent an error.
    """
    header = stream.read(_HEADER.size)
    if len(header) < _HEADER.size:
        return None
    tag, size = _HEADER.unpack(header)
    if size > LARGEST_MESSAGE:
        return None
    payload = stream.read(size)
    if len(payload) < size:
        return None
    if tag == b"B":
        return Block(np.frombuffer(payload, dtype="<f4").reshape(-1, max(1, n_channels)))
    if tag == b"X":
        raise MediaError(payload.decode())
    values: dict[str, Any] = json.loads(payload)
    if tag == b"S":
        return Start(**values)
    gaps = tuple(Gap(**gap) for gap in values["gaps"])
    return End(values["start_s"], gaps, tuple(values["notes"]))
