"""The pitch followed through the pass, frame by frame, around the fitted curve."""

from __future__ import annotations

import numpy as np

from wayside.measure.demod import Blocks
from wayside.measure.ladder import drifts, edges_of
from wayside.measure.result import Track
from wayside.physics.passby import PassBy

MOST_FRAMES, ENOUGH_FRAMES = 400, 24
TRUSTED_HZ_SHARE = 0.02
HOLLOW = 0.02


def follow(blocks: Blocks, p: PassBy, frame_s: float, pulsed: bool = False) -> Track:
    """Return the pitch of the fundamental in frames of about `frame_s`.

    Each frame is the fitted curve plus the local frequency left over, combined over the
    harmonics; its uncertainty is what the noise in the frame allows. With `pulsed` no frame
    spans two pulses.
    """
    width = max(3, round(frame_s / blocks.block_s), blocks.times_s.size // MOST_FRAMES)
    edges = edges_of(blocks, p, width)
    if pulsed:
        gaps = np.flatnonzero(np.diff(blocks.times_s) > 1.5 * blocks.block_s) + 1
        edges = np.unique(np.concatenate([edges, gaps]))
    score, information = drifts(blocks, p, edges)
    count = np.diff(np.append(edges, blocks.times_s.size))
    times = np.add.reduceat(blocks.times_s, edges) / count
    information = np.maximum(information, 1e-12)
    shift = score / information
    u = np.sqrt(0.5 / information)
    base = p.pitch(times)
    near = 0.5 / blocks.block_s / float(blocks.harmonics.max())
    # frames inside a hole of the recording hold nothing, not even noise
    power = np.add.reduceat(np.abs(blocks.z) ** 2, edges, axis=1) / count
    silent = np.all(power < HOLLOW * blocks.noise[:, None], axis=0)
    keep = ~silent & (u < TRUSTED_HZ_SHARE * base) & (np.abs(shift) < near)
    level = _level_db(power, blocks)
    return Track(times[keep], (base + shift)[keep], u[keep], level[keep])


def track_of(blocks: Blocks, p: PassBy, pulsed: bool = False) -> tuple[Track, float]:
    """Return the pitch in frames that suit the pass, and how long they are (s).

    Fainter tones need longer frames to be followed.
    """
    crossing = p.closest_m / p.speed_mps
    frame_s = max(float(np.clip(0.15 * crossing, 0.02, 0.25)), 4.0 / p.source_hz)
    track = follow(blocks, p, frame_s, pulsed)
    while track.times_s.size < ENOUGH_FRAMES and frame_s < 0.5 * crossing:
        frame_s *= 2.0
        track = follow(blocks, p, frame_s, pulsed)
    return track, frame_s


def faintest_db(blocks: Blocks, frame_s: float) -> float:
    """Return the level (dB) below which a frame of that length holds only noise."""
    count = max(1.0, frame_s / blocks.block_s)
    return float(10.0 * np.log10(2.0 * blocks.noise.sum() * 2.0 / np.sqrt(count)))


def _level_db(power: np.ndarray, blocks: Blocks) -> np.ndarray:
    power = np.maximum(power - blocks.noise[:, None], 1e-3 * blocks.noise[:, None])
    # z is half the amplitude of a line, whose mean square is 2 |z|^2
    return np.asarray(10.0 * np.log10(2.0 * power.sum(axis=0) + 1e-30))
