"""Maximum likelihood along the curve, from short coherent windows to the whole pass.

Within a window the envelope of harmonic k is modelled as one complex amplitude times the
spreading d/r times the phase left by the parameters; amplitudes are solved inside (variable
projection, Golub and Pereyra 1973) and the parameters improved by damped Gauss-Newton steps.
Windows double until they span the pass: each rung's answer is good enough that the next does
not slip a cycle. With one window over all this is the maximum-likelihood fit of a coherent
source in white noise.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.measure.demod import Blocks
from wayside.measure.motion import PhaseModel, from_vector, phase_model, to_vector
from wayside.physics.passby import PassBy

FloatArray = npt.NDArray[np.float64]
ComplexArray = npt.NDArray[np.complex128]
Start = TypeVar("Start")
TWO_PI = 2.0 * np.pi
# the parameters of a constant speed, by their place in motion.NAMES
CONSTANT = (0, 1, 2, 3)
# a rung only has to lead to the next one
RUNG_ENOUGH = 0.02


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
class Sums:
    """Likelihood at one pass-by, with its slope and curvature in the scaled parameters."""

    gain: float
    gradient: FloatArray  # (n_free,)
    normal: FloatArray  # (n_free, n_free)


@dataclass(frozen=True)
class _Windows:
    """Envelopes turned by a pass-by and summed over windows."""

    edges: npt.NDArray[np.intp]
    index: npt.NDArray[np.intp]  # (n_blocks,): the window each block lies in
    turned: ComplexArray  # (n_harmonics, n_blocks)
    spread2: FloatArray  # (n_blocks,)
    energy: FloatArray  # (n_windows,)
    amplitude: ComplexArray  # (n_harmonics, n_windows)
    power: FloatArray  # (n_harmonics, n_windows)

    def centred(self, rows: FloatArray) -> FloatArray:
        """Return rows, shape (m, n_blocks), less their weighted mean in each window."""
        mean = np.add.reduceat(rows * self.spread2, self.edges, axis=1) / self.energy
        return np.asarray(rows - mean[:, self.index])

    def gain(self, noise: FloatArray) -> float:
        """Return the summed likelihood statistic (nats)."""
        return float(np.sum((self.power * self.energy).sum(axis=1) / noise))

    def echo(self) -> ComplexArray:
        """Return each block against its window's amplitude, per harmonic.

        Its imaginary part is how the block would turn the phase, its real part how it would
        raise the level.
        """
        return np.asarray(np.conj(self.amplitude)[:, self.index] * self.turned)

    def true_power(self, noise: FloatArray) -> FloatArray:
        """Return the power of the amplitudes with that of noise taken off."""
        return np.asarray(np.maximum(self.power - noise[:, None] / self.energy, 0.0))


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


def _apart(blocks: Blocks) -> bool:
    """Whether each harmonic has a course of its own to fade along."""
    return blocks.law is not None and blocks.law.ndim == 2 and blocks.harmonics.size > 1


def _windows(blocks: Blocks, model: PhaseModel, edges: npt.NDArray[np.intp]) -> _Windows:
    count = np.diff(np.append(edges, blocks.times_s.size))
    a = blocks.spread(model.spread)
    a = a[0] if a.ndim == 2 else a
    energy = np.add.reduceat(a * a, edges)
    turned = blocks.turned(model.cycles) * a
    amplitude = np.asarray(np.add.reduceat(turned, edges, axis=1) / energy, dtype=np.complex128)
    power = amplitude.real**2 + amplitude.imag**2
    index = np.repeat(np.arange(edges.size), count)
    return _Windows(edges, index, turned, a * a, energy, amplitude, power)


def sums_at(
    blocks: Blocks,
    p: PassBy,
    edges: npt.NDArray[np.intp],
    free: tuple[int, ...],
    level: bool = False,
    beside: FloatArray | None = None,
) -> Sums:
    """Return likelihood, slope and curvature at `p` with windows starting at `edges`.

    With `level`, slope and curvature count how the level rises and falls, not the phase alone.
    With `beside`, shape (m, n_blocks), they go on with steps of what else turns the phase, in
    cycles of the fundamental a step.
    """
    if _apart(blocks):
        each = [sums_at(row, p, edges, free, level, beside) for row in blocks.rows()]
        return Sums(
            sum(one.gain for one in each),
            np.sum([one.gradient for one in each], axis=0),
            np.sum([one.normal for one in each], axis=0),
        )
    model = phase_model(p, blocks.times_s)
    scale = scale_of(p)[list(free)]
    w = _windows(blocks, model, edges)
    steps = model.slopes[list(free)] * scale[:, None]
    rest = w.centred(steps if beside is None else np.vstack([steps, beside]))
    k, noise = blocks.harmonics.astype(np.float64), blocks.noise
    echo = w.echo()
    gradient = rest @ ((TWO_PI * k / noise) @ echo.imag)
    power = w.true_power(noise)
    stiff = (TWO_PI**2 * k**2 / noise) @ power
    normal = (rest * (stiff[w.index] * w.spread2)) @ rest.T
    if level:
        rest = w.centred(model.fading[list(free)] * scale[:, None])
        own = (slice(None, len(free)),) * 2
        gradient[own[0]] += rest @ ((1.0 / noise) @ echo.real)
        stiff = (1.0 / noise) @ power
        normal[own] += (rest * (stiff[w.index] * w.spread2)) @ rest.T
    return Sums(w.gain(noise), gradient, normal)


def level_sums(
    blocks: Blocks, p: PassBy, free: tuple[int, ...], shapes: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what departures of the level from 1/r would do to the likelihood of one window.

    Parameters
    ----------
    blocks : Blocks
    p : PassBy
    free : tuple of int
    shapes : ndarray, shape (m, n_blocks)
        Departures of the logarithm of the level.

    Returns
    -------
    slope : ndarray, shape (m,)
    shared : ndarray, shape (n_free, m)
        Curvature between the parameters and the departures.
    own : ndarray, shape (m, m)
        Curvature among the departures.
    """
    if _apart(blocks):
        each = [level_sums(row, p, free, shapes) for row in blocks.rows()]
        slope, shared, own = (np.sum(parts, axis=0) for parts in zip(*each, strict=True))
        return slope, shared, own
    model = phase_model(p, blocks.times_s)
    w = _windows(blocks, model, np.zeros(1, dtype=np.intp))
    rest = w.centred(shapes)
    scale = scale_of(p)[list(free), None]
    moves = w.centred(model.fading[list(free)] * scale)
    weight = ((1.0 / blocks.noise) @ w.true_power(blocks.noise))[w.index] * w.spread2
    slope = rest @ ((1.0 / blocks.noise) @ w.echo().real)
    return slope, (moves * weight) @ rest.T, (rest * weight) @ rest.T


def gains_of(blocks: Blocks, p: PassBy, edges: npt.NDArray[np.intp]) -> FloatArray:
    """Return each harmonic's likelihood statistic (nats), shape (n_harmonics,)."""
    return np.asarray(courses_of(blocks, p, edges)[0].sum(axis=1) / blocks.noise)


def courses_of(
    blocks: Blocks, p: PassBy, edges: npt.NDArray[np.intp]
) -> tuple[FloatArray, FloatArray]:
    """Return what each harmonic brings in each window, and what a steady source would.

    Returns
    -------
    heard : ndarray, shape (n_harmonics, n_windows)
        Power, as the noise of `blocks` counts it.
    steady : ndarray, shape (n_windows,)
        What it goes with where the source is always as loud.
    """
    w = _windows(blocks, phase_model(p, blocks.times_s), edges)
    return np.asarray(w.power * w.energy), w.energy


def drifts(blocks: Blocks, p: PassBy, edges: npt.NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Return score and information of a shift of the fundamental's pitch, window by window.

    Returns
    -------
    score, information : ndarray, shape (n_windows,)
        In 1/Hz and 1/Hz^2.
    """
    if _apart(blocks):
        each = [drifts(row, p, edges) for row in blocks.rows()]
        score, information = (np.sum(parts, axis=0) for parts in zip(*each, strict=True))
        return score, information
    w = _windows(blocks, phase_model(p, blocks.times_s), edges)
    time = w.centred(blocks.times_s[None, :])[0]
    k, noise = blocks.harmonics.astype(np.float64), blocks.noise
    score = np.add.reduceat(time * ((TWO_PI * k / noise) @ w.echo().imag), edges)
    moment = np.add.reduceat(time * time * w.spread2, edges)
    return score, ((TWO_PI**2 * k**2 / noise) @ w.true_power(noise)) * moment


def climb(
    blocks: Blocks,
    start: PassBy,
    width: int,
    free: tuple[int, ...] = CONSTANT,
    steps: int = 12,
    enough: float | None = None,
    level: bool = False,
) -> Rung:
    """Maximise the likelihood with windows of `width` blocks, from `start`.

    With `enough`, steps end when one gains less than so many nats; with `level`, the rise and
    fall of the level counts too.
    """
    edges = edges_of(blocks, start, width)
    p, sums = ascend(
        start,
        lambda q: sums_at(blocks, q, edges, free, level),
        lambda q, step: moved(q, step, free),
        steps,
        enough,
    )
    return Rung(p, sums.gain, sums.normal, width)


def ascend(
    start: Start,
    at: Callable[[Start], Sums],
    onward: Callable[[Start, FloatArray], Start],
    steps: int,
    enough: float | None = None,
) -> tuple[Start, Sums]:
    """Return the maximum near `start` of the likelihood `at` gives, by damped Gauss-Newton steps.

    A scaled step leads `onward`. With `enough`, steps end when one gains less than so many nats.
    """
    p, now = start, at(start)
    damping = 1e-3
    for _ in range(steps):
        diagonal = np.diag(now.normal) + 1e-12 * np.max(np.diag(now.normal), initial=0.0) + 1e-30
        step: FloatArray = np.asarray(
            np.linalg.solve(now.normal + np.diag(damping * diagonal), now.gradient)
        )
        step = step * min(1.0, 0.35 / max(1e-30, float(np.max(np.abs(step)))))
        trial = onward(p, step)
        after = at(trial)
        if after.gain >= now.gain:
            rise = after.gain - now.gain
            p, now = trial, after
            damping = max(1e-6, damping * 0.2)
            still = rise < 1e-4 and float(np.max(np.abs(step))) < 1e-4
            if still or (enough is not None and rise < enough):
                break
        else:
            damping *= 8.0
            if damping > 1e4:
                break
    return p, now


def moved(p: PassBy, step: FloatArray, free: tuple[int, ...], most: float = 0.4) -> PassBy:
    """Return `p` after a scaled step; positive parameters move by factors, e^`most` at most."""
    theta = to_vector(p)
    scale = scale_of(p)
    for i, move in zip(free, step, strict=True):
        if i in (0, 1, 2):
            theta[i] *= np.exp(min(max(float(move), -most), most))
        else:
            theta[i] += float(move) * scale[i]
    theta[1] = min(theta[1], 0.6 * p.sound_speed_mps)
    return from_vector(p, theta)


def climb_all(
    blocks: Blocks,
    start: PassBy,
    first: int,
    job: Job = QUIET,
    most: int | None = None,
    held: bool = False,
) -> list[Rung]:
    """Climb from windows of `first` blocks, doubling, to one window over everything.

    With `most`, stop after so many rungs; `climb_on` goes on from there. With `held`, every rung
    is climbed from `start`, a summit known already: short windows, which show a faint source
    badly, cannot lead away from it.
    """
    rungs: list[Rung] = []
    width, p = max(1, first), start
    n = blocks.times_s.size
    while most is None or len(rungs) < most:
        job.check()
        rung = climb(blocks, p, min(width, 2 * n), enough=RUNG_ENOUGH)
        rungs.append(rung)
        p = start if held else rung.passby
        if width >= 2 * n:
            break
        width = _wider(width, n)
    return rungs


def climb_on(blocks: Blocks, rungs: list[Rung], job: Job = QUIET) -> list[Rung]:
    """Return the rungs of a climb that was stopped, and those above them."""
    top = rungs[-1]
    n = blocks.times_s.size
    if top.window_blocks >= 2 * n:
        return rungs
    return [*rungs, *climb_all(blocks, top.passby, _wider(top.window_blocks, n), job)]


def _wider(width: int, n: int) -> int:
    return width * 2 if width * 2 < n else 2 * n


def glide_gain(blocks: Blocks, p: PassBy, width: int, crossings: float = 1.0) -> float:
    """Return how much better `p` fits than any steady tone in its range (nats).

    Both get the same windows, spreading and free amplitudes; the steady tone may take any
    pitch between the approach and recede limits. A window counts by the share g/(1 + g) that
    a tone of the curve's strength has in it, g being its ratio to noise there: windows that
    hold next to nothing but noise, however many, say nothing. Windows are no longer than
    `crossings` crossing times d/v, or than it takes to tell the two limits apart.
    """
    highest = float(blocks.harmonics.max())
    low, high = p.recede_hz, p.approach_hz
    # windows long enough to tell the two limits apart will do, and cost less than longer ones
    crossing = p.closest_m / p.speed_mps
    enough = max(crossings * crossing, 4.0 / ((high - low) * highest))
    width = min(width, max(2, round(enough / blocks.block_s)))
    edges = edges_of(blocks, p, width)
    model = phase_model(p, blocks.times_s)
    a = blocks.spread(model.spread)
    energy = np.add.reduceat(a * a, edges)
    length = min(float(blocks.times_s[-1] - blocks.times_s[0]), width * blocks.block_s)
    # further out than that the level has fallen too far to sharpen a line
    length = min(length, max(enough / crossings, 3.0 * crossing))
    middle = p.passing_time_s
    count = int(np.clip(np.ceil((high - low) * highest * length * 2.0), 9, 2000))
    best = -np.inf
    power = _power_of(blocks, model.cycles, a, energy, edges)
    strength = np.maximum((power.sum(axis=1) - edges.size) / np.sum(energy), 0.0)
    ratio = strength[:, None] * energy
    weight = ratio / (1.0 + ratio)
    curve = float(np.sum(weight * power))
    for pitch in np.linspace(low, high, count):
        cycles = pitch * (blocks.times_s - middle)
        power = _power_of(blocks, cycles, a, energy, edges)
        best = max(best, float(np.sum(weight * power)))
    return curve - best


def _power_of(
    blocks: Blocks,
    cycles: FloatArray,
    a: FloatArray,
    energy: FloatArray,
    edges: npt.NDArray[np.intp],
) -> FloatArray:
    """Return each window's power over noise, shape (n_harmonics, n_windows)."""
    y = blocks.turned(cycles) * a
    power = np.abs(np.add.reduceat(y, edges, axis=1)) ** 2 / energy
    return np.asarray(power / blocks.noise[:, None])
