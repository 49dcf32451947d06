"""Speech-like sound: a pulse train of moving pitch through moving formants.

The source-filter model of vowels (Fant, Acoustic Theory of Speech Production, 1960). The
formant table holds round values near the usual adult averages (from memory).
"""

from __future__ import annotations

import numpy as np
from scipy import signal

from wayside.physics.passby import FloatArray
from wayside.simulate.noise import coloured
from wayside.simulate.voice import envelope, glide

_VOWELS = (
    (750, 1200, 2500),
    (300, 2250, 3000),
    (320, 850, 2300),
    (500, 1850, 2500),
    (500, 900, 2500),
)
_WIDTHS = (80.0, 100.0, 150.0)


def speech(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    """Return `n` samples of syllables, pauses and hissed consonants."""
    sound = np.zeros(n)
    voice_hz = rng.uniform(90, 260)
    place = int(rng.uniform(0, 0.4) * rate_hz)
    while place < n:
        length = min(int(rng.uniform(0.1, 0.45) * rate_hz), n - place)
        if length > 64:
            sound[place : place + length] += _syllable(length, rate_hz, voice_hz, rng)
        place += length
        if rng.random() < 0.3:
            hiss = min(int(rng.uniform(0.05, 0.15) * rate_hz), n - place)
            if hiss > 64:
                breath = np.diff(coloured(hiss + 1, rate_hz, 1.0, 4000.0, rng))
                sound[place : place + hiss] += 0.3 * breath * envelope(hiss, rate_hz, 0.02, 0.02)
            place += max(hiss, 0)
        place += int((rng.uniform(0.2, 0.8) if rng.random() < 0.2 else 0.03) * rate_hz)
    return sound


def _syllable(n: int, rate_hz: float, voice_hz: float, rng: np.random.Generator) -> FloatArray:
    ends = voice_hz * 2 ** rng.uniform(-0.5, 0.5, 3)
    pitch = np.interp(np.linspace(0, 2, n), np.arange(3), ends)
    count = max(1, int(min(4000.0, rate_hz / 2.2) / voice_hz))
    pulses = glide(pitch, rate_hz, [k**-0.7 for k in range(1, count + 1)], [0.0] * count)
    first, second = (_VOWELS[i] for i in rng.integers(0, len(_VOWELS), 2))
    half = n // 2
    parts = [
        _formants(pulses, vowel, rate_hz) * ramp
        for vowel, ramp in (
            (first, np.clip(1.5 - np.arange(n) / max(half, 1), 0, 1)),
            (second, np.clip(np.arange(n) / max(half, 1) - 0.5, 0, 1)),
        )
    ]
    voiced = parts[0] + parts[1]
    peak = float(np.max(np.abs(voiced))) or 1.0
    return np.asarray(voiced / peak * rng.uniform(0.4, 1.0) * envelope(n, rate_hz, 0.03, 0.06))


def _formants(pulses: FloatArray, vowel: tuple[int, ...], rate_hz: float) -> FloatArray:
    sound = pulses
    for centre, width in zip(vowel, _WIDTHS, strict=True):
        if centre > 0.45 * rate_hz:
            continue
        radius = np.exp(-np.pi * width / rate_hz)
        poles = [1.0, -2 * radius * np.cos(2 * np.pi * centre / rate_hz), radius**2]
        sound = signal.lfilter([sum(poles)], poles, sound)
    return np.asarray(sound)
