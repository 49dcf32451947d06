"""Tones of any pitch course that no geometry shapes: the raw material of the negatives."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wayside.physics.passby import FloatArray


def glide(
    pitch_hz: FloatArray, rate_hz: float, harmonics: Sequence[float], phases: Sequence[float]
) -> FloatArray:
    """Return the sum of harmonics that follow `pitch_hz`, shape (n,).

    Parameters
    ----------
    pitch_hz : ndarray, shape (n,)
        Pitch of the fundamental at each sample (Hz).
    rate_hz : float
        Sample rate (Hz).
    harmonics, phases : sequence of float
        Amplitude and starting phase (cycles) of harmonic 1, 2 …; a harmonic is silent
        wherever it would pass half the sample rate.
    """
    cycles = np.cumsum(pitch_hz) / rate_hz
    sound = np.zeros(len(cycles))
    for k, (amplitude, phase) in enumerate(zip(harmonics, phases, strict=True), start=1):
        audible = k * pitch_hz < rate_hz / 2
        sound += amplitude * audible * np.cos(2 * np.pi * ((k * cycles + phase) % 1.0))
    return sound


def random_timbre(rng: np.random.Generator, most: int = 8) -> tuple[list[float], list[float]]:
    """Draw amplitudes falling by a random slope, and phases, of 1 to `most` harmonics."""
    count = int(rng.integers(1, most + 1))
    slope = rng.uniform(0.3, 1.8)
    amplitudes = [float(rng.uniform(0.3, 1.0) / k**slope) for k in range(1, count + 1)]
    return amplitudes, rng.uniform(0, 1, count).tolist()


def envelope(n: int, rate_hz: float, attack_s: float, release_s: float) -> FloatArray:
    """Return a note's loudness: a linear rise, a level and a linear fall, shape (n,)."""
    t = np.arange(n) / rate_hz
    rise = np.clip(t / max(attack_s, 1e-4), 0, 1)
    fall = np.clip((n / rate_hz - t) / max(release_s, 1e-4), 0, 1)
    return np.asarray(rise * fall)
