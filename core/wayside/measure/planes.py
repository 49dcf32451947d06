"""Whitened time-frequency planes at several window lengths, the ground the search walks on.

Power is divided by its own noise floor, so that noise alone is close to a unit exponential in
every cell (periodogram ordinates; Priestley 1981, *Spectral Analysis and Time Series*, 6.1) and
steady tones sink into the floor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import fft, ndimage
from scipy.signal import firwin, resample_poly

from wayside.jobs import QUIET, Job

F32 = npt.NDArray[np.float32]

# window lengths grow by 4, so that some plane is within a factor 2 of the best length for a
# glide of slope f' (about 1/sqrt(f'))
FAST_WINDOWS = (128, 512, 2048)
SLOW_WINDOWS = (2048, 8192)
SLOW_FACTOR = 4
FAST_RATE_HZ = 11000.0
LOWEST_HZ = 40.0
# the low-pass before a reduction reaches over so many reduced samples
REACH = 10
LN2 = float(np.log(2.0))


@dataclass(frozen=True)
class Plane:
    """One whitened spectrogram.

    Parameters
    ----------
    power : ndarray, shape (n_frames, n_bins), float32
        Power over noise floor, summed over the lines; mean about 1 a line where there is
        only noise.
    first_s, hop_s : float
        Centre of frame 0 and frame spacing on the recording's clock (s).
    bin_hz : float
        Bin spacing (Hz); bin 0 is 0 Hz.
    window_s : float
        Window length (s).
    lines : int
        How many harmonics of the pitch were added up, the pitch itself the first.
    """

    power: F32
    first_s: float
    hop_s: float
    bin_hz: float
    window_s: float
    lines: int = 1


def decimated(x: F32, rate_hz: float) -> tuple[F32, float]:
    """Return `x` reduced by a whole factor to about 11-22 kHz, and its rate."""
    q = max(1, int(rate_hz // FAST_RATE_HZ))
    return reduced(x, q), rate_hz / q


def reduced(x: F32, q: int) -> F32:
    """Return `x`, shape (n,), low-passed and reduced by the whole factor `q`."""
    if q == 1 or x.size == 0:
        return x
    taps = _lowpass(q)
    return np.asarray(resample_poly(x, 1, q, window=taps), dtype=np.float32)


def _lowpass(q: int) -> F32:
    return np.asarray(firwin(2 * REACH * q + 1, 1.0 / q, window=("kaiser", 6.0)), dtype=np.float32)


def make_planes(
    x: F32,
    rate_hz: float,
    start_s: float,
    band_hz: tuple[float, float] | None = None,
    job: Job = QUIET,
) -> tuple[Plane, ...]:
    """Return the planes of one stretch of sound.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Samples already reduced by `decimated`.
    rate_hz : float
        Their rate (Hz).
    start_s : float
        Time of the first sample (s).
    band_hz : tuple of float, optional
        Cells outside this band are set to 1 (noise).
    job : Job
    """
    job.check()
    slow = reduced(x, SLOW_FACTOR)
    todo = [(x, rate_hz, n) for n in FAST_WINDOWS]
    todo += [(slow, rate_hz / SLOW_FACTOR, n) for n in SLOW_WINDOWS]
    planes = []
    for samples, rate, n in todo:
        job.check()
        if samples.size >= 3 * n:
            planes.append(plane_of(samples, rate, start_s, n, band_hz))
    return tuple(planes)


def plane_of(
    x: F32, rate_hz: float, start_s: float, n: int, band_hz: tuple[float, float] | None = None
) -> Plane:
    """Return the whitened plane of windows of `n` samples; see `make_planes`."""
    power = whitened(stft_power(x, n), band_cells(n, rate_hz, band_hz))
    window_s = n / rate_hz
    return Plane(power, start_s + 0.5 * window_s, 0.5 * window_s, 1.0 / window_s, window_s)


def stft_power(x: F32, n: int) -> F32:
    """Return Hann-windowed periodograms at half overlap, shape (n_frames, n/2 + 1)."""
    frames = np.lib.stride_tricks.sliding_window_view(x, n)[:: n // 2]
    window = np.hanning(n + 1)[:n].astype(np.float32)
    out = np.empty((frames.shape[0], n // 2 + 1), dtype=np.float32)
    step = max(1, (1 << 19) // n)
    for i in range(0, frames.shape[0], step):
        z = fft.rfft(frames[i : i + step] * window, axis=1)
        out[i : i + step] = z.real**2 + z.imag**2
    return out


def band_cells(n: int, rate_hz: float, band_hz: tuple[float, float] | None) -> tuple[int, int]:
    """Return the first and one past the last usable bin."""
    low, high = band_hz or (0.0, rate_hz)
    bin_hz = rate_hz / n
    first = max(3, int(np.ceil(max(low, LOWEST_HZ) / bin_hz)))
    last = min(int(0.45 * n), int(high / bin_hz) + 1)
    return first, max(first, last)


def whitened(power: F32, cells: tuple[int, int]) -> F32:
    """Divide by the noise floor: time median of each bin, never below its neighbours' level.

    A steady tone lifts the time median of its own bin and so vanishes; a passing tone visits
    a bin for less than half the time and stays. A second pass takes out gusts that lift a
    whole frame.
    """
    first, last = cells
    out = np.ones_like(power)
    if last - first < 8:
        return out
    heard = power.max(axis=1) > 0
    if not np.any(heard):
        return out
    part = power[heard, first:last]
    rows = part[:: max(1, part.shape[0] // 400)]
    floor = np.median(rows, axis=0) / LN2
    size = min(31, (last - first) // 2 * 2 - 1)
    smooth = ndimage.median_filter(floor, size=size, mode="nearest")
    floor = np.maximum(floor, smooth)
    tiny = float(np.max(floor, initial=0.0)) * 1e-9 + 1e-30
    part = part / np.maximum(floor, tiny)
    few = part[:, :: max(1, (last - first) // 128)]
    gust = np.median(few, axis=1, keepdims=True) / LN2
    part /= np.maximum(gust, max(0.5 * float(np.median(gust)), 1e-12))
    part *= LN2 / max(float(np.median(part[:: max(1, part.shape[0] // 200)])), 1e-12)
    # digital silence keeps the value of average noise
    out[heard, first:last] = part
    return out
