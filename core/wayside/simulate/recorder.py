"""What a phone does to the sound before it is stored: automatic gain and clipping."""

from __future__ import annotations

import numpy as np

from wayside.physics.passby import FloatArray

_BLOCK_S = 0.005
_ATTACK_S = 0.01
_RELEASE_S = 0.5
_TARGET_RMS = 0.12
_MOST_GAIN = 8.0


def automatic_gain(sound: FloatArray, rate_hz: float) -> FloatArray:
    """Return `sound` (n, n_channels) levelled as a phone does: fast down, slow up.

    The gain follows ``target/level`` to the power 0.7, where the level rises with a time
    constant of 10 ms and falls with one of 0.5 s; one gain serves all channels.
    """
    block = max(1, round(_BLOCK_S * rate_hz))
    n_blocks = int(np.ceil(len(sound) / block))
    padded = np.zeros((n_blocks * block, sound.shape[1]))
    padded[: len(sound)] = sound
    power = np.mean(padded.reshape(n_blocks, -1) ** 2, axis=1)
    level = np.empty(n_blocks)
    now = float(power[0])
    up, down = np.exp(-_BLOCK_S / _ATTACK_S), np.exp(-_BLOCK_S / _RELEASE_S)
    for i, p in enumerate(power.tolist()):
        keep = up if p > now else down
        now = keep * now + (1 - keep) * p
        level[i] = now
    gain = np.minimum((_TARGET_RMS / np.sqrt(level + 1e-12)) ** 0.7, _MOST_GAIN)
    centres = (np.arange(n_blocks) + 0.5) * block
    return np.asarray(sound * np.interp(np.arange(len(sound)), centres, gain)[:, None])


def clipped(sound: FloatArray, fraction: float) -> FloatArray:
    """Return `sound` cut off at `fraction` of its own peak, then raised to full scale."""
    limit = fraction * float(np.max(np.abs(sound), initial=0.0))
    return np.clip(sound, -limit, limit) / (limit or 1.0)
