"""The loudness of a recording over time, on as many points as a plot has columns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.sound.recording import Recording

FloatArray = npt.NDArray[np.float64]

FLOOR_DB = -120.0
MOST_COLUMNS = 8192
_BLOCK = 1 << 20


@dataclass(frozen=True)
class Envelope:
    """Extremes and level of equal stretches of a recording, shape (columns,) each.

    Parameters
    ----------
    times_s : ndarray
        Middle of each stretch (s on the recording's clock).
    low, high : ndarray
        Least and greatest sample, full scale 1; 0 outside the recording.
    level_db : ndarray
        Root mean square relative to that of a full-scale sine (dB), `FLOOR_DB` at least.
    """

    times_s: FloatArray
    low: FloatArray
    high: FloatArray
    level_db: FloatArray


def envelope(
    recording: Recording, start_s: float, stop_s: float, columns: int, job: Job = QUIET
) -> Envelope:
    """Return the envelope of a stretch, reading it block by block.

    Parameters
    ----------
    recording : Recording
        Several channels are averaged.
    start_s, stop_s : float
        Stretch of the recording's clock (s); may reach beyond the recording.
    columns : int
        Number of points, 1 to `MOST_COLUMNS`.
    job : Job, optional

    Raises
    ------
    InputError
        If the stretch is empty or the number of points is out of range.
    Cancelled
        If the job was stopped.
    """
    if not stop_s > start_s or not 1 <= columns <= MOST_COLUMNS:
        raise InputError("The stretch to show is empty; choose a longer one.")
    edges_s = np.linspace(start_s, stop_s, columns + 1)
    edges = np.round((edges_s - recording.start_s) * recording.rate_hz).astype(np.int64)
    edges = np.clip(edges, 0, recording.n_samples)
    low, high, square = np.zeros(columns), np.zeros(columns), np.zeros(columns)
    first = 0
    while first < columns:
        job.step(first / columns, "Reading the level")
        last = int(np.searchsorted(edges, edges[first] + _BLOCK, side="right")) - 1
        last = min(max(last, first + 1), columns)
        _fill(recording, edges, first, last, low, high, square)
        first = last
    db = 10.0 * np.log10(np.maximum(2.0 * square, 10.0 ** (FLOOR_DB / 10.0)))
    return Envelope(0.5 * (edges_s[:-1] + edges_s[1:]), low, high, db)


def _fill(
    recording: Recording,
    edges: npt.NDArray[np.int64],
    first: int,
    last: int,
    low: FloatArray,
    high: FloatArray,
    square: FloatArray,
) -> None:
    sound = np.nan_to_num(recording.mono(int(edges[first]), int(edges[last])))
    offset = int(edges[first])
    for column in range(first, last):
        part = sound[edges[column] - offset : edges[column + 1] - offset]
        if part.size:
            low[column], high[column] = float(part.min()), float(part.max())
            square[column] = float(np.mean(np.square(part, dtype=np.float64)))
