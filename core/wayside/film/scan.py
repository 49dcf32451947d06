"""Runs a film past marker lines in a child process and collects the brightness around them."""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from wayside.decoding.child import ChildLink
from wayside.errors import InputError
from wayside.film.film import CHILD, receive
from wayside.film.geometry import Line
from wayside.film.info import FilmInfo
from wayside.film.sampling import offsets_px, strip_points
from wayside.jobs import QUIET, Job

MOST_VALUES = 300_000_000


@dataclass(frozen=True, eq=False)
class LineScan:
    """Brightness in a strip along one line, over frames.

    Parameters
    ----------
    line : Line
    indices : ndarray of int, shape (n_frames,)
        Which frames, rising.
    offsets_px : ndarray, shape (n_columns,)
        Distance of each column from the line (pixels), rising, 0 in the middle.
    values : ndarray of uint8, shape (n_frames, n_columns, n_along)
    """

    line: Line
    indices: npt.NDArray[np.intp]
    offsets_px: npt.NDArray[np.float64]
    values: npt.NDArray[np.uint8]


def scan_lines(
    path: Path,
    info: FilmInfo,
    lines: list[Line],
    *,
    span: tuple[int, int] | None = None,
    job: Job = QUIET,
) -> list[LineScan]:
    """Sample the brightness along lines in every frame.

    Parameters
    ----------
    path : Path
        The film.
    info : FilmInfo
        From `wayside.film.film.open_film` on the same file.
    lines : list of Line
        Marker lines (pixels of the film as shown).
    span : tuple of int, optional
        (first, stop) frames; all by default.
    job : Job

    Raises
    ------
    InputError
        A line lies outside the picture, or the stretch is too long.
    MediaError
        The film cannot be decoded.
    """
    for line in lines:
        _check_inside(line, info)
    points = [strip_points(line, info.width) for line in lines]
    first, stop = span or (0, len(info.times))
    n_values = sum(p.shape[0] * p.shape[1] for p in points)
    if n_values * (stop - first) > MOST_VALUES:
        most = MOST_VALUES // n_values
        raise InputError(
            f"That is {stop - first} frames, and at most {most} can be searched at once; narrow "
            f"the time down to the pass."
        )
    indices, rows = _collect(path, info, lines, (first, stop, n_values), job)
    return _split(lines, points, indices, rows, info)


def _check_inside(line: Line, info: FilmInfo) -> None:
    for point in (line.start, line.stop):
        if not (0 <= point.x <= info.width and 0 <= point.y <= info.height):
            raise InputError(
                f"The marker line {line} leaves the picture, which is {info.width} × "
                f"{info.height} pixels as shown; keep it inside."
            )


def _collect(
    path: Path, info: FilmInfo, lines: list[Line], shape: tuple[int, int, int], job: Job
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.uint8]]:
    first, stop, n_values = shape
    ends = [[line.start.x, line.start.y, line.stop.x, line.stop.y] for line in lines]
    request = {"scan": ends, "width": info.width, "first": first, "stop": stop}
    indices: list[int] = []
    rows = np.empty((stop - first, n_values), dtype=np.uint8)
    with ChildLink(CHILD, path, json.dumps(request)) as link:
        while True:
            tag, payload = receive(link, info.name, job)
            if tag == b"D":
                break
            if tag == b"N":
                rows[len(indices)] = np.frombuffer(payload, dtype=np.uint8, offset=4)
                indices.append(struct.unpack_from("<I", payload)[0])
                job.step((indices[-1] + 1 - first) / (stop - first), "Watching the lines")
    return np.array(indices, dtype=np.intp), rows[: len(indices)]


def _split(
    lines: list[Line],
    points: list[npt.NDArray[np.float64]],
    indices: npt.NDArray[np.intp],
    rows: npt.NDArray[np.uint8],
    info: FilmInfo,
) -> list[LineScan]:
    scans, start = [], 0
    offsets = offsets_px(info.width)
    for line, p in zip(lines, points, strict=True):
        n = p.shape[0] * p.shape[1]
        values = rows[:, start : start + n].reshape(len(rows), p.shape[0], p.shape[1])
        x, y = p[..., 0], p[..., 1]
        points_inside = (x >= 0) & (x <= info.width) & (y >= 0) & (y <= info.height)
        inside = np.array(points_inside.all(axis=1))
        # The line itself is inside, if only just.
        inside[len(offsets) // 2] = True
        scans.append(LineScan(line, indices, offsets[inside], values[:, inside]))
        start += n
    return scans
