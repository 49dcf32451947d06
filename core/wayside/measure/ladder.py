"""Maximum likelihood along the curve, from short coherent windows to the whole pass.

Within a window the envelope of harmonic k is modelled as one complex amplitude times the
spreading d/r times the phase left by the parameters; amplitudes are solved inside (variable
projection, Golub and Pereyra 1973) and the parameters improved by damped Gauss-Newton steps.
Windows double until they span the pass: each rung's answer is good enough that the next does
not slip a cycle. With one window over all this is the maximum-likelihood fit of a coherent
source in white noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.motion import from_vector, phase_model, to_vector
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
TWO_PI = 2.0 * np.pi
# the parameters of a constant speed, by their place in motion.NAMES
CONSTANT = (0, 1, 2, 3)


@dataclass(frozen=True)
class Rung:
    """The state of the fit at one window length.

    Parameters
    ----------
    passby : PassBy
    gain : float
        Summed likelihood statistic |S|^2/(E N) over windows and harmonics (nats).
    normal : ndarray, shape (n_free, n_free)
        Gauss-Newton normal matrix in the scaled parameters.
    window_blocks : int
    """

    passby: PassBy
    gain: float
    normal: FloatArray
    window_blocks: int


@dataclass(frozen=True)
class Windows:
    """Sums over the harmonics, window by window."""

    gradient: FloatArray  # (n_windows, n_free): score contributions
    normals: FloatArray  # (n_windows, n_free, n_free)
    gain: float
    drift_score: FloatArray  # (n_windows,): score of a frequency shift of the fundamental
    drift_information: FloatArray  # (n_windows,)

    @property
    def normal(self) -> FloatArray:
        """Return the summed normal matrix, shape (n_free, n_free)."""
        return np.asarray(self.normals.sum(axis=0))


def scale_of(p: PassBy) -> FloatArray:
    """Return the step sizes that make the five parameters comparable, shape (5,)."""
    return np.array([p.source_hz, p.speed_mps, p.closest_m, p.closest_m / p.speed_mps, p.speed_mps])


def edges_of(blocks: Blocks, p: PassBy, width: int) -> npt.NDArray[np.intp]:
    """Return where windows of `width` blocks start, one of them centred on the passing."""
    n = blocks.times_s.size
    centre = int(np.argmin(np.abs(blocks.times_s - p.passing_time_s)))
    edges = np.arange((centre - width // 2) % width, n, width)
    edges = np.unique(np.concatenate([[0], edges]))
    return edges.astype(np.intp)


def window_sums(
    blocks: Blocks,
    p: PassBy,
    edges: npt.NDArray[np.intp],
    free: tuple[int, ...],
) -> Windows:
    """Return scores and normal matrices at `p` for the windows at `edges`."""
    model = phase_model(p, blocks.times_s)
    scale = scale_of(p)[list(free)]
    jac = model.jacobian[:, list(free)] * scale
    n = blocks.times_s.size
    count = np.diff(np.append(edges, n))
    index = np.repeat(np.arange(edges.size), count)
    turn = TWO_PI * (model.cycles - blocks.reference_cycles)
    a = model.spread
    energy = np.add.reduceat(a * a, edges)
    weight = a * a / energy[index]
    rest = jac - np.add.reduceat(jac * weight[:, None], edges, axis=0)[index]
    time = blocks.times_s - np.add.reduceat(blocks.times_s * weight, edges)[index]
    outer = np.add.reduceat((rest[:, :, None] * rest[:, None, :]) * (a * a)[:, None, None], edges)
    moment = np.add.reduceat(time * time * a * a, edges)
    gradient = np.zeros((edges.size, len(free)))
    normals = np.zeros((edges.size, len(free), len(free)))
    drift_score, drift_information = np.zeros(edges.size), np.zeros(edges.size)
    gain = 0.0
    for row, k in enumerate(blocks.harmonics):
        y = blocks.z[row] * np.exp(-1j * k * turn) * a
        amp = np.add.reduceat(y, edges) / energy
        n_k = blocks.noise[row]
        power = np.abs(amp) ** 2
        gain += float(np.sum(power * energy)) / n_k
        pull = np.imag(np.conj(amp[index]) * y)
        factor = TWO_PI * k / n_k
        gradient += factor * np.add.reduceat(rest * pull[:, None], edges, axis=0)
        true_power = np.maximum(power - n_k / energy, 0.0)
        normals += (TWO_PI * k * factor * true_power)[:, None, None] * outer
        drift_score += factor * np.add.reduceat(time * pull, edges)
        drift_information += TWO_PI * k * factor * true_power * moment
    return Windows(gradient, normals, gain, drift_score, drift_information)


def climb(
    blocks: Blocks,
    start: PassBy,
    width: int,
    free: tuple[int, ...] = CONSTANT,
    steps: int = 12,
) -> Rung:
    """Maximise the likelihood with windows of `width` blocks, from `start`."""
    p = start
    edges = edges_of(blocks, p, width)
    now = window_sums(blocks, p, edges, free)
    damping = 1e-3
    for _ in range(steps):
        diagonal = np.diag(now.normal) + 1e-12 * np.max(np.diag(now.normal), initial=0.0) + 1e-30
        step = np.linalg.solve(now.normal + np.diag(damping * diagonal), now.gradient.sum(axis=0))
        step *= min(1.0, 0.35 / max(1e-30, float(np.max(np.abs(step)))))
        trial = moved(p, step, free)
        after = window_sums(blocks, trial, edges, free)
        if after.gain >= now.gain:
            rise = after.gain - now.gain
            p, now = trial, after
            damping = max(1e-6, damping * 0.2)
            if rise < 1e-4 and float(np.max(np.abs(step))) < 1e-4:
                break
        else:
            damping *= 8.0
            if damping > 1e4:
                break
    return Rung(p, now.gain, now.normal, width)


def moved(p: PassBy, step: FloatArray, free: tuple[int, ...], most: float = 0.4) -> PassBy:
    """Return `p` after a scaled step; positive parameters move by factors, e^`most` at most."""
    theta = to_vector(p)
    scale = scale_of(p)
    for i, move in zip(free, step, strict=True):
        if i in (0, 1, 2):
            theta[i] *= float(np.exp(np.clip(move, -most, most)))
        else:
            theta[i] += float(move) * scale[i]
    theta[1] = min(theta[1], 0.6 * p.sound_speed_mps)
    return from_vector(p, theta)


def climb_all(
    blocks: Blocks,
    start: PassBy,
    first: int,
    job: Job = QUIET,
) -> list[Rung]:
    """Climb from windows of `first` blocks, doubling, to one window over everything."""
    rungs = []
    width, p = max(1, first), start
    n = blocks.times_s.size
    while True:
        job.check()
        rung = climb(blocks, p, min(width, 2 * n))
        rungs.append(rung)
        p = rung.passby
        if width >= 2 * n:
            return rungs
        width = width * 2 if width * 2 < n else 2 * n


def glide_gain(blocks: Blocks, p: PassBy, width: int) -> float:
    """Return how much better `p` fits than any steady tone in its range (nats).

    Both get the same windows, spreading and free amplitudes; the steady tone may take any
    pitch between the approach and recede limits.
    """
    highest = float(blocks.harmonics.max())
    low, high = p.recede_hz, p.approach_hz
    # windows long enough to tell the two limits apart will do, and cost less than longer ones
    enough = max(p.closest_m / p.speed_mps, 4.0 / ((high - low) * highest))
    width = min(width, max(2, round(enough / blocks.block_s)))
    edges = edges_of(blocks, p, width)
    model = phase_model(p, blocks.times_s)
    a = model.spread
    energy = np.add.reduceat(a * a, edges)
    length = min(float(blocks.times_s[-1] - blocks.times_s[0]), width * blocks.block_s)
    middle = p.passing_time_s
    count = int(np.clip(np.ceil((high - low) * highest * length * 2.0), 9, 2000))
    best = -np.inf
    curve = _gain_of(blocks, model.cycles - blocks.reference_cycles, a, energy, edges)
    for pitch in np.linspace(low, high, count):
        cycles = pitch * (blocks.times_s - middle)
        best = max(best, _gain_of(blocks, cycles - blocks.reference_cycles, a, energy, edges))
    return curve - best


def _gain_of(
    blocks: Blocks,
    turn: FloatArray,
    a: FloatArray,
    energy: FloatArray,
    edges: npt.NDArray[np.intp],
) -> float:
    y = blocks.z * np.exp(-1j * TWO_PI * blocks.harmonics[:, None] * turn) * a
    power = np.abs(np.add.reduceat(y, edges, axis=1)) ** 2 / energy
    return float(np.sum(power / blocks.noise[:, None]))
