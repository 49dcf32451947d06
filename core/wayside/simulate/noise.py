"""Noises that share a recording with a pass-by, each with unit RMS unless stated."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy import fft

from wayside.physics.passby import FloatArray


def white(n: int, rng: np.random.Generator) -> FloatArray:
    """Return `n` samples of white noise."""
    return rng.standard_normal(n)


def coloured(
    n: int, rate_hz: float, power: float, corner_hz: float, rng: np.random.Generator
) -> FloatArray:
    """Return noise whose power density falls as f^-power above `corner_hz`."""
    return _shaped(n, rate_hz, rng, lambda f: (1.0 + (f / corner_hz) ** 2) ** (-power / 4))


def wind(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    """Return wind on a microphone: power density steep above 60 Hz, in gusts of 1-3 s.

    The slope, f^-3, is of the order measured for turbulence on bare microphones
    (common practice, no source).
    """
    noise = coloured(n, rate_hz, 3.0, 60.0, rng) * _swell(n, rate_hz, 2.0, 0.5, rng)
    return noise / _rms(noise)


def traffic(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    """Return distant road traffic: a hump from 100 Hz to 1.5 kHz that swells over 8 s."""

    def hump(f: FloatArray) -> FloatArray:
        return (f / 100.0) / (1.0 + (f / 100.0) ** 2) ** 0.5 / (1.0 + (f / 1500.0) ** 4) ** 0.5

    noise = _shaped(n, rate_hz, rng, hump) * _swell(n, rate_hz, 8.0, 0.35, rng)
    return noise / _rms(noise)


def mains_hum(
    n: int, rate_hz: float, mains_hz: float, harmonics: int, rng: np.random.Generator
) -> FloatArray:
    """Return a steady hum: harmonics of the mains, amplitudes falling as 1/k."""
    t = np.arange(n) / rate_hz
    hum = np.zeros(n)
    for k in range(1, harmonics + 1):
        phase = rng.uniform(0, 2 * np.pi)
        if k * mains_hz < rate_hz / 2:
            hum += np.cos(2 * np.pi * k * mains_hz * t + phase) / k
    return hum / _rms(hum)


def random_walk(
    duration_s: float, step_s: float, per_second: float, rng: np.random.Generator
) -> FloatArray:
    """Return a Wiener process of variance `per_second` a second, from 0, every `step_s`."""
    n = int(np.ceil(duration_s / step_s)) + 1
    steps = rng.standard_normal(n) * np.sqrt(per_second * step_s)
    steps[0] = 0.0
    return np.cumsum(steps)


def _shaped(
    n: int, rate_hz: float, rng: np.random.Generator, gain: Callable[[FloatArray], FloatArray]
) -> FloatArray:
    size = fft.next_fast_len(n, real=True)
    spectrum = fft.rfft(rng.standard_normal(size))
    spectrum *= gain(fft.rfftfreq(size, 1.0 / rate_hz))
    noise: FloatArray = fft.irfft(spectrum, size)[:n]
    return noise / _rms(noise)


def _swell(
    n: int, rate_hz: float, period_s: float, depth: float, rng: np.random.Generator
) -> FloatArray:
    knots = max(4, int(np.ceil(n / rate_hz / period_s * 2)) + 2)
    heights = np.exp(depth * rng.standard_normal(knots))
    return np.interp(np.linspace(0, knots - 1, n), np.arange(knots), heights)


def _rms(x: FloatArray) -> float:
    return float(np.sqrt(np.mean(x * x))) or 1.0
