"""What the best estimator there can be achieves where ours misses; writes attainable.csv and .md.

The Cramér-Rao bound holds for small errors. Where noise may lift another maximum of the likelihood
above that next to the truth, no estimator reaches it (the threshold: Van Trees, *Detection,
Estimation, and Modulation Theory, Part I*, 1968, 2.4; from memory). The mean of the posterior has
the least mean square error of all (the same, 2.4.1; Kay, *Estimation Theory*, 1993, 10.4), and it
is drawn here by somebody who knows more than a program can: the level of the noise, the number of
harmonics, that amplitudes fall as 1/r, the speed of sound, that the speed lies within 5 % of the
truth, and where to look. Maxima far from the truth that these draws do not come across only make
the error too small. What a cell misses by here is what the sound does not tell.

Nothing of the program's own measuring is used. Near the passing, where a pass of a few cycles has
neither sine and cosine nor harmonics apart, the sound is taken sample by sample; far from it each
harmonic is brought to rest about the truth and sampled coarsely.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import decimate, firwin, upfirdn
from tests.benchmarks.cells import SOUND_SPEED_MPS, Cell
from tests.benchmarks.crb import PARAMETERS, FloatArray, information
from tests.benchmarks.from_truth import over_missing
from tests.benchmarks.harness import Row
from tests.benchmarks.near_bound import asked

from wayside.simulate.render import render
from wayside.simulate.scene import Background

ComplexArray = npt.NDArray[np.complex128]
COLUMNS = (
    "cell",
    "runs",
    "v: RMS / bound, attainable",
    "v: RMS / bound, ours",
    "f0: RMS / bound, attainable",
    "f0: RMS / bound, ours",
    "v: width of the posterior / bound",
    "f0: width of the posterior / bound",
    "asked for",
    "curves that count",
)
SAMPLES_A_CYCLE = 3.2
# sample by sample within so many crossing times d/v of the passing and no fewer seconds
NEAR_CROSSINGS, NEAR_S = 20.0, 0.05
# the rest in samples of this rate; harmonics of a curve turn by less than a third of it there
REST_HZ = 400.0
# the truth is within this share of the speed and the pitch
KNOWN = 0.05
# rounds of curves: about the truth, so many bounds wide, then about those that weigh most
FIRST, SCALES, DRAWN, NEAR, CENTRES = 3000, (1.0, 2.0, 4.0, 8.0, 16.0), 1000, (0.4, 1.0), 150
# until so many weigh anything, or no further
LEAST_ROUNDS, MOST_ROUNDS, ENOUGH = 3, 14, 1500.0


class Sound:
    """One recording of a cell, and how likely any curve makes it."""

    def __init__(self, cell: Cell, seed: int) -> None:
        scene = cell.scene(seed)
        p = scene.sources[0].passby
        samples = np.ravel(render(scene, seed)).astype(np.float64)
        noise = samples - np.ravel(render(scene.with_(background=Background()), seed))
        top = cell.n_harmonics * p.approach_hz
        fewer = max(1, int(scene.rate_hz / (SAMPLES_A_CYCLE * top)))
        if fewer > 1:
            samples = decimate(samples, fewer, ftype="fir")
        rate = scene.rate_hz / fewer
        # of the noise, evenly spread over the band, the part that is left
        self.variance = float(np.var(noise)) / fewer
        self.truth = np.array([getattr(p, name) for name in PARAMETERS])
        self.orders = np.arange(1, cell.n_harmonics + 1)
        t = np.arange(samples.size) / rate
        heard = p.passing_time_s + p.closest_m / SOUND_SPEED_MPS
        reach = max(NEAR_S, NEAR_CROSSINGS * p.closest_m / p.speed_mps)
        near = np.abs(t - heard) <= reach
        self.t, self.samples = t[near], samples[near]
        self._rest(np.where(near, 0.0, samples), near, t, rate)

    def _rest(
        self, samples: FloatArray, near: npt.NDArray[np.bool_], t: FloatArray, rate: float
    ) -> None:
        down = max(1, int(rate / REST_HZ))
        low = firwin(16 * down + 1, 0.4 / down, fs=1.0)
        _, u = self._course(t, self.truth[None, :])
        turn = np.exp(-2j * np.pi * self.truth[0] * u[0])

        def fewer(x: npt.NDArray[np.generic]) -> npt.NDArray[np.generic]:
            return np.asarray(upfirdn(low, x, 1, down)[8 : 8 + math.ceil(t.size / down)])

        self.at_rest: ComplexArray = (
            np.array([fewer(samples * turn**k) for k in self.orders]) * down
        )
        self.far = np.maximum(fewer(np.where(near, 0.0, 1.0)).real, 0.0) * down
        self.t_far = t[::down]
        self.u_far = self._course(self.t_far, self.truth[None, :])[1][0]

    @staticmethod
    def _course(t: FloatArray, curves: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return gain and emission time since passing, shape (curves, times); not `crb.shape`,
        which takes one curve."""
        c = SOUND_SPEED_MPS
        v, d, t0 = (curves[:, i : i + 1] for i in (1, 2, 3))
        since, free = t - t0, c * c - v * v
        u = (c * c * since - np.sqrt(c * c * v * v * since**2 + free * d * d)) / free
        return d / np.sqrt(d * d + v * v * u * u), u

    def log_likelihood(self, curves: FloatArray) -> FloatArray:
        """Return the logarithm of the likelihood of each curve, shape (n,), amplitudes integrated
        out; -inf beyond what is known."""
        logs = np.full(len(curves), -math.inf)
        share = np.abs(curves / self.truth - 1)
        inside = (share[:, 0] <= KNOWN) & (share[:, 1] <= KNOWN) & (curves[:, 2] > 0)
        which = np.flatnonzero(inside)
        for part in np.array_split(which, max(1, len(which) // 8)):
            logs[part] = self._of(curves[part])
        return logs

    def _of(self, curves: FloatArray) -> FloatArray:
        gain, u = self._course(self.t, curves)
        turn = np.exp(2j * np.pi * curves[:, :1] * u)
        waves = [gain * turn]
        for _ in self.orders[1:]:
            waves.append(waves[-1] * turn)
        wave = np.array(waves)
        basis = np.concatenate([wave.real, wave.imag]).transpose(1, 0, 2)
        gram = basis @ basis.transpose(0, 2, 1)
        onto = basis @ self.samples
        gain, u = self._course(self.t_far, curves)
        slow = np.exp(-2j * np.pi * (curves[:, :1] * u - self.truth[0] * self.u_far))
        kept = np.ones_like(slow)
        rest = []
        for row in self.at_rest:
            kept = kept * slow
            rest.append(np.sum(row * gain * kept, axis=1))
        far = np.array(rest)
        onto = onto + np.concatenate([far.real, -far.imag]).T
        power = 0.5 * np.sum(self.far * gain**2, axis=1)
        gram = gram + power[:, None, None] * np.eye(gram.shape[1])
        found = np.linalg.solve(gram, onto[..., None])[..., 0]
        height = 0.5 * np.sum(onto * found, axis=1) / self.variance
        return np.asarray(height - 0.5 * np.linalg.slogdet(gram)[1])


@dataclass(frozen=True)
class Best:
    """The least mean square error: errors and widths in bounds, of v and f0."""

    errors: FloatArray  # (4,): over the bound, as `PARAMETERS`
    widths: FloatArray
    counting: float


def best_of(item: tuple[Cell, int]) -> Best:
    """Return the posterior mean of one seeded recording against its truth."""
    cell, seed = item
    sound, rng = Sound(cell, seed), np.random.default_rng([seed, 31])
    root = np.linalg.cholesky(covariance_of(cell))
    unit = np.sqrt(np.sum(root**2, axis=1))
    rounds: list[tuple[FloatArray, tuple[float, ...]]] = [(np.zeros((1, 4)), SCALES)]
    white, logs = np.zeros((0, 4)), np.zeros(0)
    while True:
        centres, scales = rounds[-1]
        count = FIRST if len(rounds) == 1 else DRAWN
        about = centres[rng.integers(len(centres), size=count)]
        new = about + rng.choice(scales, size=(count, 1)) * rng.normal(size=(count, 4))
        white = np.concatenate([white, new])
        logs = np.concatenate([logs, sound.log_likelihood(sound.truth + new @ root.T)])
        weight = np.exp(logs - np.max(logs)) / _density(white, rounds)
        weight /= np.sum(weight)
        counting = 1 / np.sum(weight**2)
        if len(rounds) >= LEAST_ROUNDS and (counting >= ENOUGH or len(rounds) == MOST_ROUNDS):
            break
        rounds.append((white[rng.choice(len(white), size=CENTRES, p=weight)], NEAR))
    away = white @ root.T / unit
    mean = weight @ away
    return Best(mean, np.sqrt(weight @ (away - mean) ** 2), float(counting))


def _density(white: FloatArray, rounds: list[tuple[FloatArray, tuple[float, ...]]]) -> FloatArray:
    """Return how densely the rounds together draw (balance heuristic: Veach and Guibas 1995)."""
    total = np.zeros(len(white))
    for index, (centres, scales) in enumerate(rounds):
        square = np.sum((white[:, None, :] - centres) ** 2, axis=2)
        drawn = FIRST if index == 0 else DRAWN
        for s in scales:
            peak = drawn / (len(scales) * len(centres) * s**4)
            total += peak * np.sum(np.exp(-0.5 * square / s**2), axis=1)
    return np.maximum(total, 1e-300)


def covariance_of(cell: Cell) -> FloatArray:
    """Return the covariance at the bound of `PARAMETERS`, shape (4, 4)."""
    full = information(cell.tone(), cell.duration_s, cell.rate_hz)
    scale = 1 / np.sqrt(np.diag(full))
    inverse = np.linalg.inv(full * np.outer(scale, scale)) * np.outer(scale, scale)
    return np.asarray(inverse[:4, :4])


def row_of(cell: Cell, found: list[Best], ours: dict[str, str]) -> Row:
    """Sum up the best estimates of one cell beside its row in the table of the program."""

    def rms(values: list[FloatArray], name: str) -> float:
        return float(np.sqrt(np.mean([v[PARAMETERS.index(name)] ** 2 for v in values])))

    errors, widths = [f.errors for f in found], [f.widths for f in found]
    return {
        "cell": cell.name,
        "runs": len(found),
        "v: RMS / bound, attainable": rms(errors, "speed_mps"),
        "v: RMS / bound, ours": float(ours["v: RMS / bound"] or math.nan),
        "f0: RMS / bound, attainable": rms(errors, "source_hz"),
        "f0: RMS / bound, ours": float(ours["f0: RMS / bound"] or math.nan),
        "v: width of the posterior / bound": rms(widths, "speed_mps"),
        "f0: width of the posterior / bound": rms(widths, "source_hz"),
        "asked for": asked(cell.tnr_db),
        "curves that count": float(np.median([f.counting for f in found])),
    }


def main() -> None:
    """Run the benchmark from the command line."""
    over_missing(
        __doc__,
        "attainable",
        "What is attainable",
        "The cells near the bound that miss what is asked for, and what the estimator of least "
        "mean square error makes of them (`tests/benchmarks/attainable.py`): the mean of the "
        "posterior, for somebody who knows the level of the noise, the number of harmonics, the "
        "sound speed, that speed and pitch are within 5 % of the truth, and where to look. The "
        "root mean square width of the posterior is what its error must be on average, and is "
        "known better than the error of so many runs. Where both are above what is asked for, no "
        "estimator meets it.",
        COLUMNS,
        best_of,
        row_of,
    )


if __name__ == "__main__":
    main()
