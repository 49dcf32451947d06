"""Recordings that are not pass-bys, each named by a kind and a seed.

They are what a detector must refuse: noise, steady and bent tones, music, speech, engines
and sirens at standstill.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from wayside.errors import InputError
from wayside.physics.passby import FloatArray
from wayside.simulate import noise
from wayside.simulate.speech import speech
from wayside.simulate.voice import envelope, glide, random_timbre

Maker = Callable[[int, float, np.random.Generator], FloatArray]


def negative(
    kind: str, seed: int, duration_s: float = 6.0, rate_hz: float = 44100.0
) -> npt.NDArray[np.float32]:
    """Return a recording without a pass-by, shape (n_samples, 1).

    Parameters
    ----------
    kind : str
        One of `NEGATIVES`.
    seed : int
        Names the random numbers.
    duration_s, rate_hz : float
        Length (s) and sample rate (Hz).
    """
    if kind not in NEGATIVES:
        raise InputError(f"There is no negative named {kind}; choose from {', '.join(NEGATIVES)}.")
    rng = np.random.default_rng([seed, sum(kind.encode())])
    n = round(duration_s * rate_hz)
    sound = NEGATIVES[kind](n, rate_hz, rng)
    sound = sound / (float(np.sqrt(np.mean(sound**2))) or 1.0)
    if kind not in _NOISES:
        # tones come with a background of their own, from clean to well buried
        quiet = 10 ** (-rng.uniform(-5, 40) / 20)
        sound = sound + quiet * noise.coloured(n, rate_hz, rng.uniform(0, 2), 200.0, rng)
    return (0.1 * sound).astype(np.float32)[:, None]


def _white(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    return noise.white(n, rng)


def _pink(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    return noise.coloured(n, rate_hz, 1.0, 20.0, rng)


def _steady_tone(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    return glide(np.full(n, _pitch(rng)), rate_hz, *random_timbre(rng))


def _vibrato(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    t = np.arange(n) / rate_hz
    depth = 2 ** (rng.uniform(0.1, 2.0) / 12) - 1
    bend = np.sin(2 * np.pi * (rng.uniform(0.2, 8.0) * t + rng.random()))
    return glide(_pitch(rng) * (1 + depth * bend), rate_hz, *random_timbre(rng))


def _chirp(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    start, span = _pitch(rng), rng.uniform(-1.0, 1.0)
    along = np.linspace(0, 1, n)
    curve = start * 2 ** (span * along) if rng.random() < 0.5 else start * (1 + span / 2 * along)
    return glide(curve, rate_hz, *random_timbre(rng))


def _sliding_note(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    """Two held notes with a smooth slide between them, level: the shape of a glide."""
    t = np.arange(n) / rate_hz
    middle = rng.uniform(0.25, 0.75) * n / rate_hz
    slide_s = rng.uniform(0.05, 1.0)
    semitones = rng.uniform(0.3, 5.0) * rng.choice([-1, 1])
    sigmoid = 0.5 * (1 + np.tanh((t - middle) / slide_s))
    pitch = _pitch(rng) * 2 ** (semitones * sigmoid / 12)
    swell = 1 + rng.uniform(0, 0.5) * np.sin(
        2 * np.pi * (rng.uniform(0.05, 0.5) * t + rng.random())
    )
    return glide(pitch, rate_hz, *random_timbre(rng)) * swell


def _melody(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    steps = np.array([0, 2, 4, 5, 7, 9, 11, 12])
    tonic = 110 * 2 ** rng.uniform(0, 2)
    beat = rng.uniform(0.15, 0.6)
    sound = np.zeros(n)
    for voice in range(int(rng.integers(1, 4))):
        timbre = random_timbre(rng)
        place, octave = 0, 2.0**voice
        while place < n:
            length = min(int(beat * rng.choice([1, 1, 2, 4]) * rate_hz), n - place)
            pitch = tonic * octave * 2 ** (rng.choice(steps) / 12)
            note = glide(np.full(length, pitch), rate_hz, *timbre)
            sound[place : place + length] += note * envelope(length, rate_hz, 0.01, 0.08)
            place += max(length, 1)
    return sound


def _glissando(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    """Slides of a bow or trombone: several in a row, with rests."""
    knots = int(rng.integers(3, 8))
    heights = _pitch(rng) * 2 ** (np.cumsum(rng.uniform(-5, 5, knots)) / 12)
    places = np.sort(np.concatenate([[0.0, 1.0], rng.random(knots - 2)]))
    pitch = np.exp(np.interp(np.linspace(0, 1, n), places, np.log(heights)))
    return glide(pitch, rate_hz, *random_timbre(rng)) * envelope(n, rate_hz, 0.3, 0.5)


def _engine(n: int, rate_hz: float, rng: np.random.Generator, way: int) -> FloatArray:
    t = np.linspace(0, 1, n)
    idle, top = rng.uniform(20, 60), rng.uniform(1.3, 5.0)
    middle, width = rng.uniform(0.2, 0.8), rng.uniform(0.03, 0.4)
    sigmoid = 0.5 * (1 + np.tanh(way * (t - middle) / width))
    pitch = idle * top**sigmoid
    order = int(rng.integers(2, 9))
    amplitudes = [1.0 / k**0.5 * (2.5 if k % order == 0 else 1.0) for k in range(1, 25)]
    sound = glide(pitch, rate_hz, amplitudes, rng.uniform(0, 1, 24).tolist())
    roar = noise.coloured(n, rate_hz, 1.5, 300.0, rng)
    return (sound + 1.5 * roar) * (0.4 + sigmoid)


def _run_up(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    return _engine(n, rate_hz, rng, 1)


def _run_down(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    return _engine(n, rate_hz, rng, -1)


def _siren(n: int, rate_hz: float, rng: np.random.Generator) -> FloatArray:
    """A siren standing still: two alternating notes, or a slow rise and fall."""
    t = np.arange(n) / rate_hz
    low, ratio = rng.uniform(350, 900), rng.uniform(1.15, 2.2)
    turn = (t / rng.uniform(0.4, 5.0) + rng.random()) % 1.0
    if rng.random() < 0.5:
        pitch = np.where(turn < 0.5, low, low * ratio)
    else:
        pitch = low * ratio ** (1 - np.abs(2 * turn - 1))
    return glide(pitch, rate_hz, *random_timbre(rng))


def _pitch(rng: np.random.Generator) -> float:
    return float(np.exp(rng.uniform(np.log(80), np.log(3000))))


_NOISES = ("white", "pink", "wind", "traffic")

NEGATIVES: dict[str, Maker] = {
    "white": _white,
    "pink": _pink,
    "wind": noise.wind,
    "traffic": noise.traffic,
    "steady tone": _steady_tone,
    "vibrato": _vibrato,
    "chirp": _chirp,
    "sliding note": _sliding_note,
    "glissando": _glissando,
    "melody": _melody,
    "speech": speech,
    "engine run-up": _run_up,
    "engine run-down": _run_down,
    "siren": _siren,
}
