"""The source's own phase, block by block, common to all its harmonics.

Harmonic k of one source turns k times as fast as the fundamental, so every harmonic gives an
opinion on one and the same phase; they are combined with the weight of their noise.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from wayside.measure.demod import Blocks
from wayside.measure.motion import phase_model
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
TWO_PI = 2.0 * np.pi
STEADY = 0.55
ABSENT, HOLLOW, CLEAR = 0.02, 0.2, 30.0
LEAST_SILENCE_S = 0.1
# so many blocks without a clear phase at the passing itself are a hole
MOST_HOLLOW = 3


@dataclass(frozen=True)
class PhaseTrack:
    """Phase left over after a pass-by's own phase is taken out.

    Parameters
    ----------
    times_s : ndarray, shape (n,)
        Times (s).
    cycles : ndarray, shape (n,)
        Phase of the fundamental (cycles), unwrapped, up to a constant.
    noise : ndarray, shape (n,)
        Variance of `cycles` from background noise (cycles^2).
    """

    times_s: FloatArray
    cycles: FloatArray
    noise: FloatArray


def envelope(blocks: Blocks, spread: FloatArray, smooth: int) -> FloatArray:
    """Return each harmonic's envelope with noise taken off, shape (n_harmonics, n_blocks).

    Where the tone is absent (it is switched off, or the recording has a hole) next to nothing
    is returned, so that such blocks carry no weight.
    """
    power = np.abs(blocks.z) ** 2 - blocks.noise[:, None]
    law = np.broadcast_to(spread**2, power.shape)
    if blocks.fringes is not None:
        law = law * blocks.fringes**2
    # the level against 1/r^2 is what varies slowly, not the level itself
    usual = ndimage.uniform_filter1d(law, smooth, axis=1, mode="nearest")
    local = ndimage.uniform_filter1d(power, smooth, axis=1, mode="nearest") / usual * law
    # level at the closest point, by least squares on the 1/r^2 law
    peak = np.sum(power * law, axis=1) / np.sum(law**2, axis=1)
    usual_power = np.maximum(peak, 1e-3 * blocks.noise)[:, None] * law
    # beside the edge of a hole the smoothed level still looks loud
    absent = (local < ABSENT * usual_power) | (np.abs(blocks.z) ** 2 < HOLLOW * local)
    return np.asarray(np.sqrt(np.where(absent, 1e-6 * usual_power, local)))


def sounding(blocks: Blocks, p: PassBy) -> npt.NDArray[np.bool_]:
    """Return which blocks hold the tone, of those where it should stand clear of the noise.

    Blocks where it would be faint anyway count as holding it.
    """
    power = np.abs(blocks.z) ** 2
    row = int(np.argmax(power.max(axis=1) / blocks.noise))
    line, noise = power[row], blocks.noise[row]
    spread = blocks.spread(phase_model(p, blocks.times_s).spread)
    spread = spread[row] if spread.ndim == 2 else spread
    # far blocks hold noise alone: each counts by how loud the tone should be there
    usual = weighted_quantile((line - noise) / spread**2, spread**2, 0.5) * spread**2
    loudest = float(np.sum(line * spread**2) / np.sum(spread**4)) * spread**2
    expected = np.maximum(usual, loudest)
    hollow = (expected > CLEAR * noise) & (line < HOLLOW * expected)
    # nothing is switched off for an instant: a single hollow block is chance or an echo
    least = max(2, round(LEAST_SILENCE_S / blocks.block_s))
    return ~np.asarray(ndimage.binary_opening(hollow, np.ones(least, dtype=bool)))


def weighted_quantile(values: FloatArray, weights: FloatArray, part: float) -> float:
    """Return the value below which lies that part of all the weight."""
    order = np.argsort(values)
    share = np.cumsum(weights[order])
    return float(values[order[int(np.searchsorted(share, part * share[-1]))]])


def track_phase(blocks: Blocks, p: PassBy, near: bool = False) -> PhaseTrack:
    """Follow the common phase of the harmonics of `blocks` relative to `p`.

    With `near` the phase is known to stay within a fraction of a cycle of `p` (a coherent
    source, fitted), so that no cycle can be lost in faint stretches.
    """
    model = phase_model(p, blocks.times_s)
    y = blocks.turned(model.cycles)
    rows = steady_rows(y, blocks)
    y, noise = y[rows], blocks.noise[rows]
    k = blocks.harmonics[rows][:, None].astype(float)
    size = envelope(blocks, blocks.spread(model.spread), max(3, round(0.1 / blocks.block_s)))[rows]
    information = 2.0 * (k * size) ** 2 / noise[:, None]
    psi = np.zeros(y.shape[1]) if near else _cumulated(y, k, size, noise)
    for _ in range(2):
        # phases of the harmonics against each other, then the common phase against those
        settled = np.exp(1j * np.angle(np.sum(y * np.exp(-1j * k * psi) * size, axis=1)))
        rest = y * np.exp(-1j * k * psi) * np.conj(settled)[:, None]
        psi = psi + _newton(rest, k, size, noise)
    return PhaseTrack(blocks.times_s, psi / TWO_PI, 1.0 / information.sum(axis=0) / TWO_PI**2)


@dataclass(frozen=True)
class Followed:
    """A phase that was followed along one curve, to be told along others.

    A speed that wavers leads away from the curve of its mean; followed along that, a phase may
    lose cycles.

    Parameters
    ----------
    passby : PassBy
        The curve.
    track : PhaseTrack
        Relative to it.
    """

    passby: PassBy
    track: PhaseTrack

    def along(self, p: PassBy) -> PhaseTrack:
        """Return the same phase relative to another curve."""
        times = self.track.times_s
        less = phase_model(p, times).cycles - phase_model(self.passby, times).cycles
        return replace(self.track, cycles=self.track.cycles - less)


def steady_rows(y: ComplexArray, blocks: Blocks) -> list[int]:
    """Return the harmonics whose phase is still related from one block to the next.

    A high harmonic wanders k times as far and may turn by whole cycles within a block; such
    a row says nothing about the common phase.
    """
    related = np.real(np.sum(y[:, 1:] * np.conj(y[:, :-1]), axis=1))
    power = np.sum(np.abs(y) ** 2 - blocks.noise[:, None], axis=1)
    share = related / np.maximum(power, 1e-12 + 0.05 * np.sum(np.abs(y) ** 2, axis=1))
    good = np.flatnonzero(share > STEADY)
    return [int(i) for i in good] if good.size else [int(np.argmax(share))]


def _cumulated(y: ComplexArray, k: FloatArray, size: FloatArray, noise: FloatArray) -> FloatArray:
    product = y[:, 1:] * np.conj(y[:, :-1])
    scale = np.sqrt(size[:, 1:] * size[:, :-1])
    return np.concatenate([[0.0], np.cumsum(_newton(product / scale, k, scale, noise))])


def _newton(c: ComplexArray, k: FloatArray, size: FloatArray, noise: FloatArray) -> FloatArray:
    """Return the small angle common to all rows, row k showing it k times, for every column."""
    angle = np.zeros(c.shape[1])
    weight = size / noise[:, None]
    for _ in range(4):
        left = c * np.exp(-1j * k * angle)
        pull = np.sum(weight * k * left.imag, axis=0)
        stiff = np.sum(weight * k**2 * np.abs(left), axis=0) + 1e-30
        angle = angle + pull / stiff
    return angle


def clear_run(blocks: Blocks, p: PassBy, level: float) -> tuple[int, int]:
    """Return the run of blocks about the passing whose phase is known to `level` rad."""
    track = track_phase(blocks, p)
    sd = TWO_PI * np.sqrt(track.noise)
    good = sd < level
    centre = int(np.argmin(np.abs(track.times_s - p.passing_time_s)))
    near = np.flatnonzero(good)
    if near.size == 0:
        return 0, 0
    middle = int(near[np.argmin(np.abs(near - centre))])
    if abs(middle - centre) > MOST_HOLLOW:
        # one side of a hole at the passing itself is half the story
        return 0, 0
    bad = np.flatnonzero(~good)
    first = int(bad[bad < middle].max(initial=-1)) + 1
    last = int(bad[bad > middle].min(initial=good.size))
    return first, last
