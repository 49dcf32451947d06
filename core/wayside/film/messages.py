"""How a decoded picture travels from the child process: index, size, then its pixels."""

from __future__ import annotations

import struct
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from wayside.decoding.framing import write_message
from wayside.film.info import Picture
from wayside.film.times import FrameTimes

_HEADER = struct.Struct("<IIII")


def send_picture(
    out: BinaryIO, index: int, rgb: npt.NDArray[np.uint8], film_longest_side: int
) -> None:
    """Write a picture, shape (height, width, 3), as one message."""
    header = _HEADER.pack(index, rgb.shape[0], rgb.shape[1], film_longest_side)
    write_message(out, b"P", header, rgb.data.cast("B"))


def unpack_picture(payload: bytes, times: FrameTimes) -> Picture:
    """Turn the message back into a picture; its pixels are read-only."""
    index, height, width, longest = _HEADER.unpack_from(payload)
    pixels = np.frombuffer(payload, dtype=np.uint8, offset=_HEADER.size)
    return Picture(
        index,
        float(times.seconds[index]),
        pixels.reshape(height, width, 3),
        max(height, width) / max(1, longest),
    )
