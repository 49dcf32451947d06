"""A spectrogram for looking at: 8-bit levels on the pixels asked for, whatever the length.

Every column is the power spectrum of one Hann-windowed frame (or the largest of several, when
a column is wider than a frame), scaled so that a full-scale sine reads 0 dB.  For measuring,
use `wayside.measure`; 8 bits over 120 dB are 0.47 dB a step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft, signal

from wayside.errors import InputError
from wayside.jobs import QUIET, Job
from wayside.sound.recording import Recording

FLOOR_DB = -120.0
CEILING_DB = 0.0
MAX_COLUMNS = 8192
MAX_ROWS = 4096
_FRAMES_A_COLUMN = 6
_BATCH_SAMPLES = 1 << 20
_BLOCK = 1 << 18
_DECIMATION_MARGIN = 2.6
_LEAST_PADDING, _MOST_PADDING = 2, 16

FloatArray = npt.NDArray[np.float64]
Samples = npt.NDArray[np.float32]


@dataclass(frozen=True)
class PictureRequest:
    """What to draw.

    Parameters
    ----------
    start_s, stop_s : float
        Stretch of the recording's clock (s); may reach beyond the recording.
    low_hz, high_hz : float
        Pitch range (Hz), 0 <= low < high.
    columns, rows : int
        Picture size in pixels, at most `MAX_COLUMNS` by `MAX_ROWS`.
    window_s : float
        Frame length (s); a longer frame is sharper in pitch and more blurred in time.
    log_pitch : bool
        Space the rows evenly in octaves instead of hertz; needs low_hz > 0.
    """

    start_s: float
    stop_s: float
    low_hz: float
    high_hz: float
    columns: int
    rows: int
    window_s: float
    log_pitch: bool = False


@dataclass(frozen=True)
class Picture:
    """A drawn spectrogram.

    Parameters
    ----------
    levels : ndarray of uint8, shape (rows, columns)
        C-contiguous, row 0 at the lowest pitch; 0 is `FLOOR_DB` or less, 255 is
        `CEILING_DB` or more, relative to a full-scale sine.
    request : PictureRequest
        What was asked for; the edges of the picture are the request's edges.
    """

    levels: npt.NDArray[np.uint8]
    request: PictureRequest

    def level_db(self, row: int, column: int) -> float:
        """Return the level of one pixel (dB relative to a full-scale sine)."""
        step = (CEILING_DB - FLOOR_DB) / 255.0
        return FLOOR_DB + step * float(self.levels[row, column])


def sharpest_window_s(glide_hz_per_s: float) -> float:
    """Return the frame length (s) that shows a glide of this steepness sharpest.

    A frame of length w blurs pitch by about 1/w of itself and by ``rate * w`` through the
    glide; the sum is least at ``w = 1/sqrt(rate)`` (derived; elementary).
    """
    if not math.isfinite(glide_hz_per_s) or glide_hz_per_s == 0.0:
        return 0.25
    return min(max(1.0 / math.sqrt(abs(glide_hz_per_s)), 0.01), 0.5)


def draw(recording: Recording, request: PictureRequest, job: Job = QUIET) -> Picture:
    """Draw a spectrogram in memory bounded by the picture, not by the recording.

    Parameters
    ----------
    recording : Recording
        The sound; several channels are averaged.
    request : PictureRequest
        Stretch, pitch range and size.
    job : Job, optional
        Progress and cancellation.

    Returns
    -------
    Picture

    Raises
    ------
    InputError
        If the request is empty or larger than allowed.
    Cancelled
        If the job was stopped.
    """
    _check(recording, request)
    high = min(request.high_hz, recording.rate_hz / 2.0)
    factor = max(1, int(recording.rate_hz // (_DECIMATION_MARGIN * high)))
    rate = recording.rate_hz / factor
    frame = max(16, round(request.window_s * rate))
    n_fft = _fft_length(request, rate, frame)
    rows = _Rows.plan(request, rate, n_fft)
    window = signal.windows.hann(frame, sym=False).astype(np.float32)
    scale = 2.0 / float(window.sum())

    centres_s, a_column = _frame_times(request, frame / rate)
    best = np.zeros((request.rows, request.columns), dtype=np.float32)
    batch = max(1, _BATCH_SAMPLES // (n_fft * a_column))
    for first in range(0, request.columns, batch):
        last = min(first + batch, request.columns)
        job.step(first / request.columns, "Drawing the spectrogram")
        times = centres_s[first * a_column : last * a_column]
        frames = _frames(recording, times, frame, factor)
        spectrum = fft.rfft(frames * window, n_fft, axis=1)
        power = (spectrum.real**2 + spectrum.imag**2) * np.float32(scale * scale)
        peak = power.reshape(last - first, a_column, -1).max(axis=1)
        best[:, first:last] = rows.pick(peak).T
    job.report(1.0, "Drawing the spectrogram")
    return Picture(_to_levels(best), request)


def _check(recording: Recording, request: PictureRequest) -> None:
    edges = (request.start_s, request.stop_s, request.low_hz, request.high_hz, request.window_s)
    if not all(math.isfinite(edge) for edge in edges):
        raise InputError("The stretch to draw has an edge that is not a number; choose another.")
    if request.stop_s <= request.start_s or request.high_hz <= request.low_hz:
        raise InputError("The stretch to draw is empty; choose a longer one.")
    if request.low_hz < 0 or (request.log_pitch and request.low_hz <= 0):
        raise InputError("The lowest pitch to draw must be above 0 Hz.")
    if request.low_hz >= recording.rate_hz / 2.0:
        raise InputError(
            f"{recording.name} holds no sound above {recording.rate_hz / 2.0:.0f} Hz; "
            "choose a lower pitch range."
        )
    if not (0 < request.columns <= MAX_COLUMNS and 0 < request.rows <= MAX_ROWS):
        raise InputError(f"A picture is at most {MAX_COLUMNS} by {MAX_ROWS} pixels.")
    if request.window_s <= 0:
        raise InputError("The frame length must be longer than 0 s.")


def _fft_length(request: PictureRequest, rate: float, frame: int) -> int:
    """Return a length padded so far that neighbouring rows do not share a bin, within bounds."""
    edges = row_edges_hz(request)
    wanted = math.ceil(rate / (float(np.min(np.diff(edges))) * frame) - 1e-9)
    padding = min(max(wanted, _LEAST_PADDING), _MOST_PADDING)
    return int(fft.next_fast_len(padding * frame, real=True))


def _frame_times(request: PictureRequest, frame_s: float) -> tuple[FloatArray, int]:
    """Return the centre of every frame (s) and how many frames share a column."""
    width = (request.stop_s - request.start_s) / request.columns
    a_column = min(max(1, math.ceil(2.0 * width / frame_s)), _FRAMES_A_COLUMN)
    n = request.columns * a_column
    centres = request.start_s + (np.arange(n, dtype=np.float64) + 0.5) * (width / a_column)
    return np.asarray(centres, dtype=np.float64), a_column


def _frames(recording: Recording, centres_s: FloatArray, frame: int, factor: int) -> Samples:
    """Return frames centred on the given times, decimated by `factor`, shape (n, frame)."""
    rate = recording.rate_hz / factor
    starts = np.round((centres_s - recording.start_s) * rate - frame / 2.0).astype(np.int64)
    frames = np.zeros((starts.size, frame), dtype=np.float32)
    total = -(-recording.n_samples // factor)
    done = 0
    while done < starts.size:
        begin = int(starts[done])
        until = int(np.searchsorted(starts, begin + max(_BLOCK // factor - frame, 0), side="right"))
        until = max(until, done + 1)
        stop = int(starts[until - 1]) + frame
        block = _stretch(recording, max(begin, 0), min(stop, total), factor)
        offset = max(begin, 0)
        for index in range(done, until):
            a = int(starts[index])
            low, high = max(a, offset), min(a + frame, offset + block.size)
            if high > low:
                frames[index, low - a : high - a] = block[low - offset : high - offset]
        done = until
    return frames


def _stretch(recording: Recording, start: int, stop: int, factor: int) -> Samples:
    """Return decimated samples `start` to `stop` (counted at the lower rate)."""
    if stop <= start:
        return np.zeros(0, dtype=np.float32)
    if factor == 1:
        return np.nan_to_num(recording.mono(start, stop))
    half = 8 * factor
    taps = signal.firwin(2 * half + 1, 1.0 / factor, window=("kaiser", 8.0)).astype(np.float32)
    low, high = start * factor - half, (stop - 1) * factor + half + 1
    raw = np.nan_to_num(recording.mono(max(low, 0), max(high, 0)))
    ahead = max(0, -low)
    behind = max(0, (high - low) - ahead - raw.size)
    padded = np.pad(raw, (ahead, behind))
    filtered = signal.upfirdn(taps, padded, up=1, down=factor)
    skip = 2 * half // factor
    return np.asarray(filtered[skip : skip + stop - start], dtype=np.float32)


@dataclass(frozen=True)
class _Rows:
    """Which spectrum bins make up which picture row."""

    starts: npt.NDArray[np.int64]
    stops: npt.NDArray[np.int64]
    below: npt.NDArray[np.int64]
    weight: Samples
    empty: npt.NDArray[np.bool_]

    @classmethod
    def plan(cls, request: PictureRequest, rate: float, n_fft: int) -> _Rows:
        edges = row_edges_hz(request)
        centres = 0.5 * (edges[:-1] + edges[1:])
        spacing = rate / n_fft
        top = n_fft // 2
        starts = np.clip(np.ceil(edges[:-1] / spacing), 0, top).astype(np.int64)
        stops = np.clip(np.ceil(edges[1:] / spacing), 0, top + 1).astype(np.int64)
        position = np.clip(centres / spacing, 0, top - 1e-6)
        below = position.astype(np.int64)
        return cls(
            starts, stops, below, (position - below).astype(np.float32), centres > rate / 2.0
        )

    def pick(self, power: Samples) -> Samples:
        """Return the power of every row, shape (n, rows), from power of shape (n, bins)."""
        w = self.weight
        rows = power[:, self.below] * (1.0 - w) + power[:, self.below + 1] * w
        wide = np.flatnonzero(self.stops - self.starts >= 2)
        if wide.size:
            pairs = np.empty(2 * wide.size, dtype=np.int64)
            pairs[0::2], pairs[1::2] = self.starts[wide], self.stops[wide]
            padded = np.pad(power, ((0, 0), (0, 1)))
            rows[:, wide] = np.maximum.reduceat(padded, pairs, axis=1)[:, ::2]
        rows[:, self.empty] = 0.0
        return np.asarray(rows, dtype=np.float32)


def row_edges_hz(request: PictureRequest) -> FloatArray:
    """Return the pitch at every row's edge (Hz), shape (rows + 1,)."""
    if request.log_pitch:
        return np.geomspace(request.low_hz, request.high_hz, request.rows + 1)
    return np.linspace(request.low_hz, request.high_hz, request.rows + 1)


def _to_levels(power: Samples) -> npt.NDArray[np.uint8]:
    """Return 8-bit levels, C-contiguous, of powers relative to a full-scale sine."""
    tiny = np.float32(10.0 ** (FLOOR_DB / 10.0))
    level = np.log10(np.maximum(power, tiny)) * np.float32(10.0)
    level = (level - np.float32(FLOOR_DB)) * np.float32(255.0 / (CEILING_DB - FLOOR_DB))
    return np.ascontiguousarray(np.clip(np.rint(level), 0, 255).astype(np.uint8))
