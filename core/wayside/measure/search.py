"""Track before detect: likelihood of a whole glide summed along its curve.

The curve of a constant-speed pass-by with fixed pitch is, exactly,
``f(T) = alpha (1 - M T / sqrt(s^2 + T^2))`` with ``T = t - tc``, ``M = v/c``,
``alpha = f0/(1 - M^2)`` and ``s = d sqrt(c^2 - v^2)/(v c)``. Noise cells of a whitened plane
are unit exponentials and cells under a tone of signal-to-noise ratio g are exponentials of
mean 1 + g, so the log-likelihood ratio of a curve is the sum of
``P g/(1 + g) - log(1 + g)`` over its cells, with g falling as 1/r^2 (Neyman-Pearson; the
exponential law of periodogram ordinates as in Priestley 1981, 6.1). Where several lines are
added up in a cell, P is their sum and the price is paid for each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.jobs import QUIET, Job
from wayside.measure.planes import Plane

FloatArray = npt.NDArray[np.float64]

SEEDS_PER_PLANE = 12
MOST_IMPROVED = 7
MACH_GRID = np.geomspace(0.004, 0.16, 9)
# time-bandwidth choices: slope of the glide in units of 1/window^2
SLOPE_GRID = np.array([6.0, 2.0, 0.7, 0.25, 0.08, 0.02])
WHERE_GRID = np.array([-2.5, -1.2, -0.5, 0.0, 0.5, 1.2, 2.5])
SNR_GRID = np.array([2.0, 6.0, 20.0, 80.0, 400.0])
POINTS = 64
FINE_POINTS = 192
BRIEF_FRAMES = 16.0
MACH_MAX = 0.45


@dataclass(frozen=True)
class Curves:
    """Many candidate glides, shape (n,) each: ``alpha_hz``, ``mach``, ``s`` (s), ``tc`` (s)."""

    alpha_hz: FloatArray
    mach: FloatArray
    s: FloatArray
    tc: FloatArray

    def __len__(self) -> int:
        return int(self.alpha_hz.size)

    def take(self, index: npt.NDArray[np.intp]) -> Curves:
        """Return the chosen candidates."""
        return Curves(self.alpha_hz[index], self.mach[index], self.s[index], self.tc[index])


@dataclass(frozen=True)
class Candidate:
    """A glide found, its score (nats) and the score of the best steady tone there."""

    alpha_hz: float
    mach: float
    s: float
    tc: float
    score: float
    steady_score: float
    plane: int

    @property
    def evidence(self) -> float:
        """How much better the glide is than a steady tone (nats)."""
        return self.score - self.steady_score


def single(alpha_hz: float, mach: float, s: float, tc: float) -> Curves:
    """Return one curve."""
    return Curves(*(np.array([value]) for value in (alpha_hz, mach, s, tc)))


def candidate_of(curve: Curves, score: float, plane: Plane, number: int) -> Candidate:
    """Return the glide along a single curve that scores `score` on plane `number`."""
    alpha, mach, s, tc = (float(getattr(curve, k)[0]) for k in ("alpha_hz", "mach", "s", "tc"))
    return Candidate(alpha, mach, s, tc, score, steady_score(curve, plane, FINE_POINTS), number)


def drop(mach: FloatArray | float, u: FloatArray) -> FloatArray:
    """Return by which share the pitch lies below its middle, `u` widths `s` after it."""
    return np.asarray(mach * u / np.sqrt(1.0 + u * u))


def joined(parts: list[Curves]) -> Curves:
    """Concatenate sets of candidates."""
    return Curves(
        *(np.concatenate([getattr(p, k) for p in parts]) for k in ("alpha_hz", "mach", "s", "tc"))
    )


def seeds(plane: Plane, count: int = SEEDS_PER_PLANE) -> list[tuple[float, float]]:
    """Return (time, pitch) of the strongest short ridges in a plane.

    Ridges are sums of five frames along four falling slopes; the strongest of each tile is
    kept, then the strongest tiles.
    """
    p = plane.power
    n_frames, n_bins = p.shape
    if n_frames < 7:
        return []
    compressed = np.minimum(p, np.float32(60.0))
    best = np.zeros((n_frames - 4, n_bins), dtype=np.float32)
    for slope in (0.0, 0.5, 1.0, 2.0):
        total = np.zeros_like(best)
        for k in range(5):
            # a frame before the middle one lies higher, one after it lower
            up = round(slope * (2 - k))
            frame = compressed[k : k + n_frames - 4]
            if up >= 0:
                total[:, : n_bins - up] += frame[:, up:]
            else:
                total[:, -up:] += frame[:, :up]
        np.maximum(best, total, out=best)
    best[:, :3] = 0
    tile_t, tile_f = max(4, n_frames // 60), max(4, n_bins // 48)
    rows, cols = best.shape[0] // tile_t, n_bins // tile_f
    if rows == 0 or cols == 0:
        return []
    tiles = best[: rows * tile_t, : cols * tile_f].reshape(rows, tile_t, cols, tile_f)
    flat = tiles.transpose(0, 2, 1, 3).reshape(rows * cols, tile_t * tile_f)
    peak = flat.argmax(axis=1)
    value = flat[np.arange(flat.shape[0]), peak]
    found: list[tuple[float, float]] = []
    used = np.zeros(cols, dtype=int)
    for i in np.argsort(value)[::-1]:
        row, col = divmod(int(i), cols)
        if used[col] >= 4:
            continue
        used[col] += 1
        frame = row * tile_t + int(peak[i]) // tile_f + 2
        cell = col * tile_f + int(peak[i]) % tile_f
        found.append((plane.first_s + frame * plane.hop_s, cell * plane.bin_hz))
        if len(found) >= count:
            break
    return found


def grid_about(seed: tuple[float, float], plane: Plane) -> Curves:
    """Return candidate glides that run through a seed, at slopes this plane can follow."""
    t, f = seed
    mach, slope, where = (
        g.ravel() for g in np.meshgrid(MACH_GRID, SLOPE_GRID, WHERE_GRID, indexing="ij")
    )
    s = f * mach * plane.window_s**2 / slope
    keep = (s > 0.004) & (s < _longest(plane, 40.0)) & (s > 0.05 * plane.window_s)
    mach, s, where = mach[keep], s[keep], where[keep]
    alpha = f / (1.0 - mach * where / np.sqrt(1.0 + where**2))
    return Curves(alpha, mach, s, t - where * s)


def scores(curves: Curves, plane: Plane, points: int = POINTS) -> FloatArray:
    """Return the log-likelihood ratio of each candidate at its best SNR, at least 0, shape (n,).

    At most `points` frames a
    curve are looked at; where that means skipping, each stands for the square root of those
    it replaces, a compromise between favouring long curves and trusting few cells.
    """
    n_frames, n_bins = plane.power.shape
    half = np.maximum(6.0 * curves.s, 5.0 * plane.window_s)
    centre = (curves.tc - plane.first_s) / plane.hop_s
    span = np.minimum(half / plane.hop_s, float(n_frames))
    step = np.maximum(1.0, 2.0 * span / points)
    offset = np.arange(points) - points // 2
    frame = np.rint(centre[:, None] + step[:, None] * offset[None, :]).astype(np.intp)
    inside = (frame >= 0) & (frame < n_frames) & (np.abs(frame - centre[:, None]) <= span[:, None])
    # most curves are short: only the frames that they reach are looked at
    row, column = np.nonzero(inside)
    frame, s = frame[row, column], curves.s[row]
    u = (frame * plane.hop_s + plane.first_s - curves.tc[row]) / s
    pitch = curves.alpha_hz[row] * (1.0 - drop(curves.mach[row], u))
    cell = np.rint(pitch / plane.bin_hz).astype(np.intp)
    ok = (cell > 2) & (cell < n_bins - 1)
    row, frame, cell, u, s = row[ok], frame[ok], cell[ok], u[ok], s[ok]
    # no claim may rest on cells finer than the window: smear the 1/r^2 law by the window
    fall = 1.0 / (1.0 + u * u / (1.0 + (0.3 * plane.window_s / s) ** 2))
    power, weight = np.minimum(plane.power[frame, cell], 400.0), np.sqrt(step)[row]
    llr = np.zeros(half.size)
    for snr in SNR_GRID:
        g = snr * fall
        each = weight * (g / (1.0 + g) * power - plane.lines * np.log1p(g))
        np.maximum(llr, np.bincount(row, each, half.size), out=llr)
    return llr


def search(planes: tuple[Plane, ...], job: Job = QUIET, rng_seed: int = 1) -> list[Candidate]:
    """Return the best glides of a stretch, best first, one a neighbourhood.

    Seeds of every plane get a coarse grid of glides through them; the best of those are
    improved by a seeded random search whose steps shrink.
    """
    rng = np.random.default_rng(rng_seed)
    starts: list[tuple[float, int, Curves]] = []
    for number, plane in enumerate(planes):
        job.check()
        found = seeds(plane)
        if not found:
            continue
        grids = [grid_about(seed, plane) for seed in found]
        grids = [g for g in grids if len(g)]
        if not grids:
            continue
        value = scores(joined(grids), plane)
        edge = 0
        for grid in grids:
            part = value[edge : edge + len(grid)]
            edge += len(grid)
            top = np.argsort(part)[::-1][:4]
            best = grid.take(top)
            starts.append((float(part[top[0]]) - steady_score(best, plane), number, best))
    # what counts is how much better a glide is than a steady tone
    starts.sort(key=lambda item: -item[0])
    improved = []
    for start in starts[:MOST_IMPROVED]:
        job.check()
        improved.append(_improved(start, planes, rng))
    return _distinct(improved)


def steady_score(curves: Curves, plane: Plane, points: int = POINTS) -> float:
    """Return the score of the best steady tone of any pitch the first glide visits."""
    alpha, mach, s, tc = (float(getattr(curves, k)[0]) for k in ("alpha_hz", "mach", "s", "tc"))
    u = np.linspace(-3, 3, 13)
    flat = Curves(alpha * (1.0 - drop(mach, u)), 0.0 * u, np.full(13, s), np.full(13, tc))
    return float(scores(flat, plane, points).max())


def _improved(
    start: tuple[float, int, Curves], planes: tuple[Plane, ...], rng: np.random.Generator
) -> Candidate:
    _, number, best = start
    plane = planes[number]
    for width in (0.5, 0.35, 0.2, 0.12, 0.07):
        trial = joined([best, _scattered(best, width, 100 // len(best) + 1, plane, rng)])
        value = scores(trial, plane, FINE_POINTS)
        top = np.argsort(value)[::-1][:4]
        best, value = trial.take(top), value[top]
    return candidate_of(best.take(np.array([0])), float(value[0]), plane, number)


def _scattered(
    best: Curves, width: float, copies: int, plane: Plane, rng: np.random.Generator
) -> Curves:
    n = len(best) * copies
    many = best.take(np.tile(np.arange(len(best)), copies))
    stretch = np.exp(width * rng.standard_normal(n))
    # mostly keep the slope M/s, which the data fix best; vary it a little
    mach = many.mach * stretch * np.exp(0.4 * width * rng.standard_normal(n))
    s = many.s * stretch
    tc = many.tc + width * (s + 0.3 * plane.window_s) * rng.standard_normal(n)
    jitter = width * (0.3 * many.mach + 0.5 * plane.bin_hz / many.alpha_hz)
    alpha = many.alpha_hz * (1.0 + jitter * rng.standard_normal(n))
    s = np.clip(s, 0.003, _longest(plane, 60.0))
    return Curves(alpha, np.clip(mach, 5e-4, MACH_MAX), s, tc)


def _longest(plane: Plane, most_s: float) -> float:
    """Return the longest `s` looked for: of summed lines only what is seen frame by frame."""
    return most_s if plane.lines == 1 else min(most_s, BRIEF_FRAMES * plane.hop_s)


def _distinct(candidates: list[Candidate]) -> list[Candidate]:
    kept: list[Candidate] = []
    for one in sorted(candidates, key=lambda c: -c.evidence):
        same = any(
            abs(one.tc - k.tc) < one.s + k.s and abs(one.alpha_hz / k.alpha_hz - 1) < 0.05
            for k in kept
        )
        if not same:
            kept.append(one)
    return kept
