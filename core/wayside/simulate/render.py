"""Render a scene to samples from physics: retarded time, spreading, reflection, noise.

A source of phase phi (cycles) is heard as ``sum_k a_k (d/r) cos(2 pi k phi(tau(t)) + p_k)``
with tau the emission time: the phase is continuous, so the pitch is right at every sample.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.physics.passby import FloatArray
from wayside.simulate import noise
from wayside.simulate.motion import Motion, weaving, wobbling
from wayside.simulate.propagation import Heard, hear
from wayside.simulate.recorder import automatic_gain, clipped
from wayside.simulate.scene import Background, Microphone, Scene, Source

_RAMP_S = 0.01
_PAN_LIMIT = math.radians(60)
# separate streams, so that adding one noise leaves every other random number as it was
_MOTION, _TONE, _HISS, _WHITE, _WIND, _TRAFFIC, _HUM, _RIDER, _WEAVE = range(9)


def render(scene: Scene, seed: int = 0, job: Job = QUIET) -> npt.NDArray[np.float32]:
    """Return the recording of `scene`.

    Parameters
    ----------
    scene : Scene
        What is recorded.
    seed : int
        Names the random numbers: same scene and seed, same samples.
    job : Job
        Progress and cancelling.

    Returns
    -------
    ndarray of float32, shape (n_samples, n_channels)
        Full scale 1; it may go over, as nothing is limited unless the recorder clips.
    """
    n, channels = scene.n_samples, scene.microphone.channels
    t = np.arange(n) / scene.rate_hz
    sound = np.zeros((n, channels))
    for index, source in enumerate(scene.sources):
        job.step(index / (len(scene.sources) + 1), "rendering the source")
        sound += _source_sound(scene, source, index, t, seed)
    job.step(len(scene.sources) / (len(scene.sources) + 1), "adding the background")
    for channel in range(channels):
        sound[:, channel] += _background(
            scene.background, scene.sources[0].level_rms, n, scene.rate_hz, channel, seed
        )
    if scene.recorder.automatic_gain:
        sound = automatic_gain(sound, scene.rate_hz)
    if scene.recorder.clip_at is not None:
        sound = clipped(sound, scene.recorder.clip_at)
    return sound.astype(np.float32)


def source_motion(source: Source, index: int, seed: int) -> Motion:
    """Return the true motion of source number `index` in the rendering named by `seed`."""
    rider = source.rider
    stream = (_MOTION, index) if rider is None else (_RIDER, rider)
    motion = wobbling(
        source.passby,
        source.direction,
        source.wobble,
        source.wobble_period_s,
        _rng(seed, *stream),
        None if rider is None else 0.0,
    )
    return weaving(motion, source.weave_m, source.weave_period_s, _rng(seed, _WEAVE, stream[1]))


def channel_offsets(microphone: Microphone) -> tuple[float, ...]:
    """Return the place of each channel along the track (m), for a camera facing it."""
    if microphone.channels == 1:
        return (0.0,)
    return (-microphone.spacing_m / 2, microphone.spacing_m / 2)


def _source_sound(scene: Scene, source: Source, index: int, t: FloatArray, seed: int) -> FloatArray:
    motion = source_motion(source, index, seed)
    # the walk must start before the first emission heard and outlast the last
    first = float(hear(motion, t[:1], source.passby.closest_m * 3).emission_s[0]) - 1.0
    voice = _Voice(scene, source, index, seed, first, float(t[-1]) - first + 1.0)
    sound = np.zeros((len(t), scene.microphone.channels))
    turn = _pan_angle(scene, motion, t)
    for channel, offset in enumerate(channel_offsets(scene.microphone)):
        along, nearer = _ear_place(scene.microphone, offset, turn)
        d = source.passby.closest_m
        for gain, lateral in _paths(scene, source):
            path = hear(motion, t, lateral - nearer, along, scene.wind_mps)
            amplitude = gain * d / path.path_m
            if scene.convective:
                amplitude = amplitude * path.rate**2
            amplitude = amplitude * _pick_up(scene.microphone, path, lateral, turn)
            sound[:, channel] += amplitude * voice.heard(motion, path)
    return sound


def _paths(scene: Scene, source: Source) -> Sequence[tuple[float, float]]:
    """Direct path and, by the image source, the one off the ground: (gain, distance)."""
    d = source.passby.closest_m
    paths = [(1.0, d)]
    if scene.ground_reflection:
        image = math.sqrt(d * d + 4 * source.height_m * scene.microphone.height_m)
        paths.append((scene.ground_reflection, image))
    return paths


def _pan_angle(scene: Scene, motion: Motion, t: FloatArray) -> FloatArray | float:
    if scene.microphone.pan == "fixed":
        return 0.0
    path = hear(motion, t, motion.passby.closest_m, 0.0, scene.wind_mps)
    angle = np.arctan2(path.along_m, motion.passby.closest_m)
    return np.clip(angle, -_PAN_LIMIT, _PAN_LIMIT)


def _ear_place(
    microphone: Microphone, offset: float, turn: FloatArray | float
) -> tuple[FloatArray | float, FloatArray | float]:
    if not microphone.arm_m and not offset:
        return 0.0, 0.0
    along = microphone.arm_m * np.sin(turn) + offset * np.cos(turn)
    nearer = microphone.arm_m * np.cos(turn) - offset * np.sin(turn)
    if isinstance(turn, float):
        return float(along), float(nearer)
    return along, nearer


def _pick_up(
    microphone: Microphone, path: Heard, lateral: float, turn: FloatArray | float
) -> FloatArray | float:
    q = microphone.directivity
    if not q:
        return 1.0
    return np.asarray((1 - q) + q * np.cos(np.arctan2(path.along_m, lateral) - turn))


class _Voice:
    """The sound a source emits, as a function of its own time."""

    def __init__(
        self, scene: Scene, source: Source, index: int, seed: int, start_s: float, length_s: float
    ) -> None:
        self.source, self.rate_hz, self.start_s = source, scene.rate_hz, start_s
        rng = _rng(seed, _TONE, index)
        norm = math.sqrt(sum(a * a for a in source.harmonics) / 2)
        self.amplitudes = [source.level_rms * a / norm for a in source.harmonics]
        self.phases = rng.uniform(0, 1, len(source.harmonics))
        self.walks: list[FloatArray] = []
        self.step_s = min(1e-3, source.coherence_s / 50)
        if math.isfinite(source.coherence_s):
            n_walks = 1 if source.wander == "timing" else len(source.harmonics)
            for _ in range(n_walks):
                walk = noise.random_walk(length_s, self.step_s, 2 / source.coherence_s, rng)
                self.walks.append(walk / (2 * math.pi))
        self.hiss: FloatArray | None = None
        if source.hiss_tnr_db is not None:
            loud = source.level_rms * 10 ** (-source.hiss_tnr_db / 20)
            hiss_rng = _rng(seed, _HISS, index)
            self.hiss = loud * noise.white(int(length_s * self.rate_hz) + 2, hiss_rng)

    def heard(self, motion: Motion, path: Heard) -> FloatArray:
        """Return the sound heard along `path` for unit spreading."""
        tau = path.emission_s
        cycles = motion.cycles(tau)
        p = motion.passby
        cycles += 0.5 * p.source_hz * self.source.drift_per_s * (tau - p.passing_time_s) ** 2
        highest = float(np.max(np.diff(cycles), initial=0.0)) * self.rate_hz
        sound = np.zeros(len(tau))
        place = (tau - self.start_s) / self.step_s
        for k, amplitude in enumerate(self.amplitudes, start=1):
            if not amplitude or k * highest >= self.rate_hz / 2:
                continue
            phase = k * cycles + self.phases[k - 1]
            if self.walks:
                walk = self.walks[0] if len(self.walks) == 1 else self.walks[k - 1]
                drift = np.interp(place, np.arange(len(walk)), walk)
                phase += k * drift if self.source.wander == "timing" else drift
            sound += amplitude * np.cos(2 * math.pi * (phase - np.floor(phase)))
        if self.hiss is not None:
            # linear reading dulls the top octave a little, which a hiss can bear
            at = (tau - self.start_s) * self.rate_hz
            sound += np.interp(at, np.arange(len(self.hiss)), self.hiss)
        return sound * _switch(tau, self.source.on_s, self.source.off_s)


def _switch(tau: FloatArray, on_s: float, off_s: float) -> FloatArray | float:
    if math.isinf(on_s) and math.isinf(off_s):
        return 1.0
    rise = np.clip((tau - on_s) / _RAMP_S, 0, 1)
    fall = np.clip((off_s - tau) / _RAMP_S, 0, 1)
    return np.asarray(np.sin(rise * math.pi / 2) ** 2 * np.sin(fall * math.pi / 2) ** 2)


def _background(
    background: Background, tone_rms: float, n: int, rate_hz: float, channel: int, seed: int
) -> FloatArray:
    def loud(tnr_db: float) -> float:
        return tone_rms * float(10 ** (-tnr_db / 20))

    total = np.zeros(n)
    b = background
    if b.white_tnr_db is not None:
        total += loud(b.white_tnr_db) * noise.white(n, _rng(seed, _WHITE, channel))
    if b.wind_tnr_db is not None:
        total += loud(b.wind_tnr_db) * noise.wind(n, rate_hz, _rng(seed, _WIND, channel))
    if b.traffic_tnr_db is not None:
        # far away, so the same in both channels
        total += loud(b.traffic_tnr_db) * noise.traffic(n, rate_hz, _rng(seed, _TRAFFIC, 0))
    if b.hum_tnr_db is not None:
        total += loud(b.hum_tnr_db) * noise.mains_hum(
            n, rate_hz, b.hum_hz, b.hum_harmonics, _rng(seed, _HUM, 0)
        )
    return total


def _rng(seed: int, stream: int, index: int) -> np.random.Generator:
    return np.random.default_rng([seed, stream, index])
