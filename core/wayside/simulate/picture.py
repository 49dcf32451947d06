"""The picture a phone would see: a cargo bike passing two marker posts, drawn with numpy.

A pinhole camera at the microphone looks straight across the track, so a point ``x`` metres
along the track falls ``x f/d`` pixels from the middle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Picture = npt.NDArray[np.uint8]

_SKY, _WALL, _YARD, _TRACK = (206, 218, 226), (176, 160, 146), (150, 150, 142), (104, 106, 110)
_POST, _TYRE, _FRAME, _BOX, _RIDER = (
    (214, 92, 40),
    (28, 28, 30),
    (30, 84, 92),
    (120, 84, 52),
    (
        60,
        60,
        84,
    ),
)
_WHEEL_M, _WHEELBASE_M = 0.31, 1.7


@dataclass(frozen=True)
class View:
    """The camera's view.

    Parameters
    ----------
    width, height : int
        Picture size (pixels), both even.
    distance_m : float
        Distance to the track (m).
    field_deg : float
        Horizontal field of view (°).
    markers_m : tuple of float
        Places of the two posts along the track (m).
    """

    width: int
    height: int
    distance_m: float
    field_deg: float
    markers_m: tuple[float, float]

    @property
    def pixels_per_m(self) -> float:
        """Scale in the plane of the track (pixels a metre)."""
        focal = self.width / 2 / math.tan(math.radians(self.field_deg) / 2)
        return focal / self.distance_m

    @property
    def half_width_m(self) -> float:
        """How far to each side the track is in view (m)."""
        return self.width / 2 / self.pixels_per_m

    @cached_property
    def background(self) -> Picture:
        """The yard without the bike, shape (height, width, 3)."""
        picture = np.empty((self.height, self.width, 3), np.uint8)
        ground = self._ground_row
        picture[:] = _SKY
        picture[int(0.25 * self.height) : ground - int(0.1 * self.height)] = _WALL
        picture[ground - int(0.1 * self.height) :] = _YARD
        picture[ground : ground + int(0.08 * self.height)] = _TRACK
        scale = self.pixels_per_m
        for x in self.markers_m:
            middle = self.width / 2 + x * scale
            _line(picture, (middle, ground), (middle, ground - 0.9 * scale), 3.0, _POST)
            _line(picture, (middle - 8, ground + 3), (middle + 8, ground + 3), 3.0, _POST)
        return picture

    @property
    def _ground_row(self) -> int:
        return int(0.78 * self.height)

    def draw(self, wheel_m: float, direction: int) -> Picture:
        """Return the picture with the front wheel's hub `wheel_m` along the track."""
        picture = self.background.copy()
        scale, ground = self.pixels_per_m, self._ground_row
        reach = self.half_width_m + _WHEELBASE_M + 1.0
        if abs(wheel_m) > reach:
            return picture

        def at(back_m: float, up_m: float) -> tuple[float, float]:
            x = wheel_m - direction * back_m
            return self.width / 2 + x * scale, ground - up_m * scale

        thick = max(1.5, 0.045 * scale)
        for hub in (0.0, _WHEELBASE_M):
            x, y = at(hub, _WHEEL_M)
            _ring(picture, (x, y), (_WHEEL_M - 0.02) * scale, thick, _TYRE)
            for spoke in range(3):
                turn = direction * wheel_m / _WHEEL_M + spoke * math.pi / 3
                dx, dy = math.cos(turn) * _WHEEL_M * scale, math.sin(turn) * _WHEEL_M * scale
                _line(picture, (x - dx, y - dy), (x + dx, y + dy), 1.0, _TYRE)
        _line(picture, at(0.25, 0.45), at(0.95, 0.45), 0.32 * scale, _BOX)
        for start, stop in (
            ((0.0, _WHEEL_M), (0.3, 0.4)),
            ((0.9, 0.4), (_WHEELBASE_M, _WHEEL_M)),
            ((0.9, 0.4), (1.4, 0.85)),
            ((_WHEELBASE_M, _WHEEL_M), (1.4, 0.85)),
            ((0.95, 0.45), (0.9, 1.0)),
        ):
            _line(picture, at(*start), at(*stop), thick, _FRAME)
        _line(picture, at(1.42, 0.9), at(1.25, 1.4), 0.22 * scale, _RIDER)
        _line(picture, at(1.22, 1.35), at(0.92, 1.02), 0.08 * scale, _RIDER)
        _line(picture, at(1.4, 0.9), at(1.15, 0.5), 0.12 * scale, _RIDER)
        _line(picture, at(1.17, 1.62), at(1.17, 1.63), 0.24 * scale, _RIDER)
        return picture


def _line(
    picture: Picture,
    start: tuple[float, float],
    stop: tuple[float, float],
    thick: float,
    colour: tuple[int, int, int],
) -> None:
    """Draw a line with round ends: all pixels within half `thick` of the segment."""
    edge = thick / 2 + 1
    area = _window(
        picture,
        min(start[0], stop[0]) - edge,
        min(start[1], stop[1]) - edge,
        max(start[0], stop[0]) + edge,
        max(start[1], stop[1]) + edge,
    )
    if area is None:
        return
    part, x, y = area
    dx, dy = stop[0] - start[0], stop[1] - start[1]
    along = ((x - start[0]) * dx + (y - start[1]) * dy) / (dx * dx + dy * dy or 1.0)
    along = np.clip(along, 0, 1)
    away = np.hypot(x - start[0] - along * dx, y - start[1] - along * dy)
    _blend(part, np.clip(thick / 2 + 0.5 - away, 0, 1), colour)


def _ring(
    picture: Picture,
    centre: tuple[float, float],
    radius: float,
    thick: float,
    colour: tuple[int, int, int],
) -> None:
    reach = radius + thick + 1
    area = _window(
        picture, centre[0] - reach, centre[1] - reach, centre[0] + reach, centre[1] + reach
    )
    if area is None:
        return
    part, x, y = area
    away = np.abs(np.hypot(x - centre[0], y - centre[1]) - radius)
    _blend(part, np.clip(thick / 2 + 0.5 - away, 0, 1), colour)


def _window(
    picture: Picture, left: float, top: float, right: float, bottom: float
) -> tuple[Picture, npt.NDArray[np.float64], npt.NDArray[np.float64]] | None:
    height, width = picture.shape[:2]
    x0, x1 = max(0, math.floor(left)), min(width, math.ceil(right) + 1)
    y0, y1 = max(0, math.floor(top)), min(height, math.ceil(bottom) + 1)
    if x0 >= x1 or y0 >= y1:
        return None
    # pixel i covers i to i + 1, so its middle lies at i + 0.5
    x = np.arange(x0, x1)[None, :] + 0.5
    y = np.arange(y0, y1)[:, None] + 0.5
    return picture[y0:y1, x0:x1], x, y


def _blend(part: Picture, cover: npt.NDArray[np.float64], colour: tuple[int, int, int]) -> None:
    mix = cover[..., None]
    part[:] = (part * (1 - mix) + np.array(colour) * mix + 0.5).astype(np.uint8)
