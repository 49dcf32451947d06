"""Grey pictures as PNG bytes (ISO/IEC 15948), the same bytes for the same picture."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np
import numpy.typing as npt

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_GREY = 0
_EFFORT = 9


def grey_png(shades: npt.NDArray[np.uint8], dots_per_inch: float) -> bytes:
    """Return a picture of shape (rows, columns) as an 8-bit grey PNG.

    Parameters
    ----------
    shades : ndarray of uint8, shape (rows, columns)
        Row 0 on top; 0 is black.
    dots_per_inch : float
        Resolution stated in the file.
    """
    rows, columns = shades.shape
    head = struct.pack(">IIBBBBB", columns, rows, 8, _GREY, 0, 0, 0)
    per_metre = round(dots_per_inch / 0.0254)
    lines = np.zeros((rows, columns + 1), dtype=np.uint8)
    lines[:, 1:] = shades
    return b"".join(
        (
            _SIGNATURE,
            _chunk(b"IHDR", head),
            _chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)),
            _chunk(b"IDAT", zlib.compress(lines.tobytes(), _EFFORT)),
            _chunk(b"IEND", b""),
        )
    )


def data_url(png: bytes) -> str:
    """Return a PNG as a link that carries it."""
    return "data:image/png;base64," + base64.b64encode(png).decode("ascii")


def _chunk(kind: bytes, data: bytes) -> bytes:
    check = zlib.crc32(kind + data)
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)
