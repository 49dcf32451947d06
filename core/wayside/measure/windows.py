"""The two-window reading: one pitch far before the passing, one far after.

This is what a class reads by ear or from a spectrum, done carefully: the highest peak of the
windowed spectrum in each window. Read at a finite distance, both pitches fall short of their
limits, so the speed comes out low; the shortfall is worked out from the fitted curve.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import fft

from wayside.measure.refine import Sound
from wayside.measure.result import ReadingWindow, TwoWindow
from wayside.physics.passby import PassBy, speed_from_limits
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]

LONGEST_S, SHORTEST_S = 1.5, 0.08
LEAST_CYCLES = 12.0


def window_places(
    p: PassBy, start_s: float, stop_s: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return good places for the approach and recede windows, or None where there is no room.

    As far from the passing as the sound still carries (four crossings, d/v each), never
    nearer than 1.2 crossings, each as long as its distance allows.
    """
    crossing = p.closest_m / p.speed_mps
    heard = p.heard_passing_s
    shortest = max(SHORTEST_S, LEAST_CYCLES / p.source_hz)
    before = _place(heard - start_s, crossing, shortest)
    after = _place(stop_s - heard, crossing, shortest)
    if before is None or after is None:
        return None
    return (heard - before[1], heard - before[0]), (heard + after[0], heard + after[1])


def _place(room_s: float, crossing: float, shortest: float) -> tuple[float, float] | None:
    far = min(room_s, max(5.0 * crossing, 1.2 * crossing + 2 * shortest))
    near = max(1.2 * crossing, far - max(LONGEST_S, crossing))
    near = min(near, max(1.2 * crossing, 0.6 * far))
    if far - near < shortest:
        return None
    return near, far


def read_window(
    sound: Sound, window: tuple[float, float], p: PassBy, harmonic: int
) -> tuple[Quantity, float]:
    """Return the pitch read in a window and how far it falls short of its limit (Hz).

    Parameters
    ----------
    sound : Sound
    window : tuple of float
        Start and stop (s).
    p : PassBy
        Says where to look and gives the shortfall.
    harmonic : int
        The harmonic to read; the result is divided by it.
    """
    part = sound.cut(*window)
    x = part.samples.astype(np.float64)
    inside = np.linspace(*window, 33)
    curve = p.pitch(inside)
    x = x * np.hanning(x.size)
    n = fft.next_fast_len(8 * x.size, real=True)
    power = np.abs(fft.rfft(x, n)) ** 2
    hz = np.arange(power.size) * part.rate_hz / n
    expected = float(np.mean(curve))
    resolution = part.rate_hz / part.samples.size
    reach = 0.7 * p.source_hz * p.speed_mps / p.sound_speed_mps + 2.0 * resolution / harmonic
    reach = min(reach, 0.4 * p.source_hz)
    low, high = np.searchsorted(hz, [harmonic * (expected - reach), harmonic * (expected + reach)])
    band = power[low : high + 1]
    peak = int(np.argmax(band)) + int(low)
    bend = 0.0
    if 0 < peak < power.size - 1:
        a, b, c = np.log(power[peak - 1 : peak + 2] + 1e-300)
        bend = float(0.5 * (a - c) / (a - 2.0 * b + c)) if a - 2.0 * b + c < 0 else 0.0
    value = (hz[peak] + bend * part.rate_hz / n) / harmonic
    noise = float(np.median(power[max(0, low - 20 * 8) : high + 20 * 8])) / np.log(2.0)
    snr = max(float(power[peak]) / max(noise, 1e-300), 1.0)
    # single-tone bound with a Hann window (Rife and Boorstyn 1974, widened by 1.5), and half
    # the glide inside the window as a rectangular distribution (JCGM 100, 4.3.7)
    u_noise = 1.5 * np.sqrt(6.0) / (2.0 * np.pi * (window[1] - window[0]) * np.sqrt(snr)) / harmonic
    u_glide = float(np.ptp(curve)) / np.sqrt(12.0)
    shortfall = expected - (p.approach_hz if window[1] < p.heard_passing_s else p.recede_hz)
    return Quantity(float(value), float(np.hypot(u_noise, u_glide)), "Hz"), float(shortfall)


def two_window(
    sound: Sound,
    windows: tuple[tuple[float, float], tuple[float, float]],
    p: PassBy,
    harmonic: int,
    sound_speed: Quantity,
    wander_hz: float = 0.0,
) -> TwoWindow:
    """Return the two-window reading; `wander_hz` widens it for a source that wavers."""
    readings = []
    for window in windows:
        pitch, shortfall = read_window(sound, window, p, harmonic)
        pitch = Quantity(pitch.value, float(np.hypot(pitch.u, wander_hz)), "Hz")
        readings.append(ReadingWindow(window[0], window[1], pitch, shortfall))
    fa, fr = readings[0].pitch, readings[1].pitch
    c = sound_speed.value
    v, f0 = speed_from_limits(fa.value, fr.value, c)
    total = fa.value + fr.value
    dv_a, dv_r = 2.0 * c * fr.value / total**2, -2.0 * c * fa.value / total**2
    df_a, df_r = 2.0 * (fr.value / total) ** 2, 2.0 * (fa.value / total) ** 2
    u_v = np.sqrt(
        (dv_a * fa.u) ** 2 + (dv_r * fr.u) ** 2 + (v * sound_speed.u / sound_speed.value) ** 2
    )
    u_f = np.hypot(df_a * fa.u, df_r * fr.u)
    return TwoWindow(
        readings[0],
        readings[1],
        Quantity(float(v), float(u_v), "m/s"),
        Quantity(float(f0), float(u_f), "Hz"),
    )
