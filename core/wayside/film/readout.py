"""What reading the sensor row by row does to crossing times.

A phone reads its sensor row after row, which takes R of the order of 10 to 30 ms (common
practice, no source). Held upright, the rows run across the track, so a marker at the share s
of the picture's width is seen s R later or earlier than the frame time says: between two
markers the time is wrong by up to R times their distance in picture widths. Held level, both
markers are in the same rows and the delay drops out.
"""

from __future__ import annotations

import math

READOUT_MOST_S = 0.030
LEVEL_ADVICE = (
    "Hold the phone level (landscape): it reads the picture row by row, and then both markers "
    "are read at the same moment."
)
UPRIGHT_CAUTION = (
    "This film is upright (portrait). A phone reads its picture row by row within 10 to 30 ms, "
    "here from one side to the other, so the time between two markers may be off by up to "
    "{most_ms} ms; that is in the uncertainty of the speed. Film level (landscape) instead."
)


def is_upright(width: int, height: int) -> bool:
    """Tell whether a picture of this size as shown was filmed with the phone held upright."""
    return height > width


def readout_u_s(first_x: float, last_x: float, width: int, height: int) -> float:
    """Return the standard uncertainty of the time between two crossings from the readout (s).

    Parameters
    ----------
    first_x, last_x : float
        Where the two markers are seen (pixels from the left).
    width, height : int
        Size of the picture as shown (pixels).

    Notes
    -----
    The delay lies anywhere within plus or minus `READOUT_MOST_S` over the whole width, either
    sign: rectangular, u = half-width / sqrt(3) (JCGM 100:2008, 4.3.7).
    """
    if not is_upright(width, height):
        return 0.0
    return READOUT_MOST_S * abs(last_x - first_x) / width / math.sqrt(3.0)
