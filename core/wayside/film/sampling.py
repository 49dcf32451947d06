"""Brightness in a strip along a marker line: the raw material for proposing crossings.

A wheel is hollow and may jump over the line between two frames, so the line alone is not
enough: the strip shows on which side of it something is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.film.geometry import Line

MOST_ALONG = 64
HALF_COLUMNS = 50
HALF_WIDTH_SHARE = 0.06
HALF_WIDTH_PX = 24.0


def offsets_px(width: int) -> npt.NDArray[np.float64]:
    """Return how far each column of the strip lies from the line (pixels), negative side first.

    Parameters
    ----------
    width : int
        Picture width (pixels).
    """
    half_width = max(HALF_WIDTH_PX, HALF_WIDTH_SHARE * width)
    n = min(HALF_COLUMNS, round(half_width))
    return np.linspace(-half_width, half_width, 2 * n + 1)


def strip_points(line: Line, width: int) -> npt.NDArray[np.float64]:
    """Return where to look.

    Returns
    -------
    ndarray, shape (n_columns, n_along, 2)
        x and y (pixels); columns are parallel to the line, see `offsets_px`.
    """
    n = int(np.clip(round(line.length_px), 8, MOST_ALONG))
    share = (np.arange(n) + 0.5) / n
    nx, ny = line.normal
    across = offsets_px(width)[:, None]
    x = line.start.x + share * (line.stop.x - line.start.x) + across * nx
    y = line.start.y + share * (line.stop.y - line.start.y) + across * ny
    return np.stack([x, y], axis=-1)


def sample(grey: npt.NDArray[np.uint8], points: npt.NDArray[np.float64]) -> npt.NDArray[np.uint8]:
    """Return the brightness at points by bilinear interpolation.

    Parameters
    ----------
    grey : ndarray of uint8, shape (height, width)
    points : ndarray, shape (..., 2)
        x and y (pixels); pixel i covers i to i + 1. Points outside take the nearest pixel.

    Returns
    -------
    ndarray of uint8, shape (...)
    """
    height, width = grey.shape
    x = np.clip(points[..., 0] - 0.5, 0, width - 1)
    y = np.clip(points[..., 1] - 0.5, 0, height - 1)
    left, top = np.floor(x).astype(np.intp), np.floor(y).astype(np.intp)
    right, bottom = np.minimum(left + 1, width - 1), np.minimum(top + 1, height - 1)
    fx, fy = x - left, y - top
    upper = grey[top, left] * (1 - fx) + grey[top, right] * fx
    lower = grey[bottom, left] * (1 - fx) + grey[bottom, right] * fx
    return np.asarray(np.rint(upper * (1 - fy) + lower * fy), dtype=np.uint8)
