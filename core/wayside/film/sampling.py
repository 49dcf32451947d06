"""Brightness along marker lines, frame by frame: the raw material for proposing crossings."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.film.geometry import Line

MOST_POINTS = 400
BESIDE_SHARE = 0.015
BESIDE_PX = 6.0


def sample_points(line: Line, width: int) -> npt.NDArray[np.float64]:
    """Return where to look: on the line, and on two lines beside it.

    Parameters
    ----------
    line : Line
    width : int
        Picture width (pixels), which sets how far the side lines lie.

    Returns
    -------
    ndarray, shape (3, n_points, 2)
        x and y (pixels); row 0 on the negative side, 1 on the line, 2 on the positive side.
    """
    n = int(np.clip(round(line.length_px), 8, MOST_POINTS))
    share = (np.arange(n) + 0.5) / n
    x = line.start.x + share * (line.stop.x - line.start.x)
    y = line.start.y + share * (line.stop.y - line.start.y)
    nx, ny = line.normal
    beside = max(BESIDE_PX, BESIDE_SHARE * width)
    return np.stack(
        [np.stack([x + side * beside * nx, y + side * beside * ny], axis=1) for side in (-1, 0, 1)]
    )


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
