"""How the events of a sound track travel from the child process."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any, BinaryIO

import numpy as np

from wayside.decoding.framing import write_json, write_message
from wayside.errors import MediaError
from wayside.sound.events import Block, End, Event, Start
from wayside.sound.recording import Gap


def send(stream: BinaryIO, event: Event) -> None:
    """Write one event."""
    if isinstance(event, Block):
        write_message(stream, b"B", np.ascontiguousarray(event.samples, dtype="<f4").tobytes())
    else:
        write_json(stream, b"S" if isinstance(event, Start) else b"E", asdict(event))


def send_error(stream: BinaryIO, sentence: str) -> None:
    """Write the sentence of a `MediaError`."""
    write_message(stream, b"X", sentence.encode())


def unpack(tag: bytes, payload: bytes, n_channels: int) -> Event:
    """Turn a message back into an event.

    Parameters
    ----------
    tag, payload : bytes
        As from `wayside.decoding.framing.read_message`.
    n_channels : int
        From the `Start` event; any value before it.

    Raises
    ------
    MediaError
        The child sent an error.
    """
    if tag == b"B":
        return Block(np.frombuffer(payload, dtype="<f4").reshape(-1, max(1, n_channels)))
    if tag == b"X":
        raise MediaError(payload.decode())
    values: dict[str, Any] = json.loads(payload)
    if tag == b"S":
        return Start(**values)
    gaps = tuple(Gap(**gap) for gap in values["gaps"])
    return End(values["start_s"], gaps, tuple(values["notes"]))
