"""Many starts at once: the likelihood of thousands of curves, thinned out as windows grow.

A ladder climbed from one start follows the nearest summit, and of a faint brief pass short
windows show little but noise. So curves are scattered widely about the glide that was seen
and weighed; the best are kept, moved a little in the directions they differ in, and weighed
with windows twice as long, up to one window over everything (annealed sampling; Neal 2001,
*Statistics and Computing* 11, 125). A window's envelope is taken for complex normal with the
power that spreading leaves, so that windows far from the passing, where there is only noise,
count for nothing: its log-likelihood ratio is ``P g/(1 + g) - log(1 + g)`` as in `search`.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from wayside.jobs import Job
from wayside.measure.demod import Blocks
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
Number = TypeVar("Number", np.float32, np.complex64)
TWO_PI = 2.0 * np.pi

SCATTERED, KEPT, LEAST_KEPT = 3000, 300, 60
# how far starts are scattered: pitch (of its Doppler shift), log speed, log distance beside
# what goes with the speed, passing time (of the crossing time d/v)
SCATTER = (0.4, 0.5, 0.5, 0.7)
# the slope at the passing f0 v^2/(c d) is known best: of faster curves, further ones
FARTHER = 1.5
# first window, in times over which the fundamental moves by a cell of that window
FIRST_WINDOW = 1.5
# to either side: this many crossing times, or windows if that is more
REACH, REACH_WINDOWS = 4.0, 2.0
# how far the kept ones are moved, in their own standard deviations
MOVES, AGAIN = (0.1, 0.2, 0.4), (0.35, 0.35, 0.35)
# signal-to-noise ratios of a whole line that are tried
SNR_GRID = np.array([3.0, 10.0, 30.0, 120.0])
MOST_MACH, LEAST_MPS, LEAST_M, LEAST_HZ = 0.4, 0.1, 0.01, 10.0
# most curves times blocks weighed in one go, and the most aimed at in a round
CHUNK, ROUND = 1 << 18, 1.2e5


def swarm(blocks: Blocks, start: PassBy, job: Job, seed: int = 5) -> list[PassBy]:
    """Return the likeliest curves about `start` with one window over everything, best first.

    None where `start` lies far outside what a source can do.

    Parameters
    ----------
    blocks : Blocks
        Envelopes wide enough in pitch for every curve that may be meant.
    start : PassBy
        Constant speed, fixed pitch.
    job : Job
    seed : int
        Names the random numbers.
    """
    rng = np.random.default_rng(seed)
    c = start.sound_speed_mps
    x = _scattered(start, rng)
    n = blocks.times_s.size
    slope = start.source_hz * start.speed_mps**2 / (c * start.closest_m)
    width = max(2, round(FIRST_WINDOW / np.sqrt(slope) / blocks.block_s))
    while True:
        first, last = blocks_within(blocks, x, width, c)
        keep = int(np.clip(ROUND / (last - first), LEAST_KEPT, KEPT))
        for moves in (AGAIN, MOVES):
            x = x[possible(x, c)]
            value = log_likelihoods(blocks, x, width, (first, last), c, job)
            x = x[np.argsort(-value)[:keep]]
            if width >= 2 * n or x.shape[0] < 2:
                return [_passby(start, row) for row in x]
            x = _spread(x, moves, rng)
        width = 2 * width if 2 * width < n else 2 * n


def log_likelihoods(
    blocks: Blocks, x: FloatArray, width: int, within: tuple[int, int], c: float, job: Job
) -> FloatArray:
    """Return the log-likelihood ratio (nats) of many curves, shape (m,).

    Parameters
    ----------
    blocks : Blocks
    x : ndarray, shape (m, 4)
        Source pitch (Hz), log of speed (m/s), log of distance (m), passing time (s).
    width : int
        Window length in blocks.
    within : tuple of int
        First block and one past the last that are looked at.
    c : float
        Speed of sound (m/s).
    job : Job

    Notes
    -----
    Each harmonic counts at its own best signal-to-noise ratio, and not at all rather than
    below 0.
    """
    step = max(1, CHUNK // max(1, within[1] - within[0]))
    parts = []
    for at in range(0, x.shape[0], step):
        job.check()
        parts.append(_weighed(blocks, x[at : at + step], width, within, c))
    return np.concatenate(parts) if parts else np.zeros(0)


def _weighed(
    blocks: Blocks, x: FloatArray, width: int, within: tuple[int, int], c: float
) -> FloatArray:
    part = slice(*within)
    v, d = np.exp(x[:, 1:2]), np.exp(x[:, 2:3])
    since = blocks.times_s[part] - x[:, 3:4]
    rest = 1.0 - (v / c) ** 2
    tau = (since - np.sqrt((v * since / c) ** 2 + rest * (d / c) ** 2)) / rest
    cycles = x[:, 0:1] * tau - blocks.reference_cycles[part]
    cycles -= np.rint(cycles)
    angle = (-TWO_PI * cycles).astype(np.float32)
    turn = np.empty(angle.shape, np.complex64)
    np.cos(angle, out=turn.real)
    np.sin(angle, out=turn.imag)
    spread = (1.0 / np.sqrt(1.0 + (v * tau / d) ** 2)).astype(np.float32)
    energy = _windowed(spread * spread, width) + 1e-9
    ratio = SNR_GRID[:, None, None] * (energy / energy.sum(axis=1, keepdims=True))
    gain, cost = ratio / (1.0 + ratio), np.log1p(ratio).sum(axis=2)
    out = np.zeros(x.shape[0])
    turned, at = spread.astype(np.complex64), 0
    for row, harmonic in enumerate(blocks.harmonics):
        for _ in range(int(harmonic) - at):
            turned = turned * turn
        at = int(harmonic)
        total = _windowed(turned * blocks.z[row, part].astype(np.complex64), width)
        power = (total.real**2 + total.imag**2) / energy / blocks.noise[row]
        value = np.einsum("gmw,mw->gm", gain, power) - cost
        out += np.maximum(value.max(axis=0), 0.0)
    return out


def _windowed(rows: npt.NDArray[Number], width: int) -> npt.NDArray[Number]:
    """Return the sums over windows of rows, shape (m, n_windows)."""
    m, n = rows.shape
    width = min(width, n)
    count = -(-n // width)
    if count * width > n:
        rows = np.pad(rows, ((0, 0), (0, count * width - n)))
    return np.asarray(rows.reshape(m, count, width).sum(axis=2))


def _scattered(p: PassBy, rng: np.random.Generator) -> FloatArray:
    r = rng.normal(0.0, 1.0, (SCATTERED, 4))
    r[0] = 0.0
    faster = SCATTER[1] * r[:, 1]
    v = p.speed_mps * np.exp(faster)
    d = p.closest_m * np.exp(FARTHER * faster + SCATTER[2] * r[:, 2])
    pitch = p.source_hz * (1.0 + SCATTER[0] * v / p.sound_speed_mps * r[:, 0])
    passing = p.passing_time_s + SCATTER[3] * d / v * r[:, 3]
    return np.column_stack([pitch, np.log(v), np.log(d), passing])


def _spread(x: FloatArray, moves: tuple[float, ...], rng: np.random.Generator) -> FloatArray:
    """Return the curves and copies of them moved in the directions they differ in."""
    variance, axes = np.linalg.eigh(np.cov(x.T))
    root = axes * np.sqrt(np.maximum(variance, 0.0))
    copies = [x + move * rng.normal(0.0, 1.0, x.shape) @ root.T for move in moves]
    return np.concatenate([x, *copies])


def possible(x: FloatArray, c: float) -> npt.NDArray[np.bool_]:
    """Return which curves, shape (m, 4), a source can make, shape (m,)."""
    slow_enough = (x[:, 1] < np.log(MOST_MACH * c)) & (x[:, 1] > np.log(LEAST_MPS))
    return np.asarray(slow_enough & (x[:, 2] > np.log(LEAST_M)) & (x[:, 0] > LEAST_HZ))


def blocks_within(
    blocks: Blocks, x: FloatArray, width: int, c: float, reach: float = REACH
) -> tuple[int, int]:
    """Return the first block and one past the last that say something with windows this long.

    Those are the blocks `reach` crossing times about the passing, or a few windows if more.
    """
    d = np.exp(x[:, 2])
    half = reach * float(np.median(d / np.exp(x[:, 1])))
    half = max(half, REACH_WINDOWS * width * blocks.block_s)
    heard = float(np.median(x[:, 3] + d / c))
    first, last = np.searchsorted(blocks.times_s, (heard - half, heard + half))
    n = blocks.times_s.size
    # one that passes outside the recording is heard at its edge
    return min(int(first), max(0, n - width)), max(int(last), min(n, width))


def _passby(p: PassBy, row: FloatArray) -> PassBy:
    return p.with_(
        source_hz=float(row[0]),
        speed_mps=float(np.exp(row[1])),
        closest_m=float(np.exp(row[2])),
        passing_time_s=float(row[3]),
    )
