"""The prediction by sampling, beside the linear one: JCGM 101:2008.

Every cause of uncertainty is drawn from its own distribution and sent through the full
formulas. Where the result is skewed or curved, or a cause has fat tails, the two differ.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wayside.hand.budget import coverage_factor
from wayside.hand.digits import decimals
from wayside.hand.entry import NORMAL, STUDENT, TRIANGULAR, Component, half_width_of
from wayside.hand.inputs import Input
from wayside.hand.model import evaluate
from wayside.hand.predict import RESULTS, Prediction, results_of
from wayside.hand.setup import Setup
from wayside.jobs import QUIET, Job

FloatArray = npt.NDArray[np.float64]

DRAWS = 200_000
_CHUNK = 50_000
LEVEL = 0.95
_BINS = 60


@dataclass(frozen=True)
class Sampled:
    """One result by sampling, with the linear one beside it.

    Parameters
    ----------
    name, label, unit : str
    mean, u : float
        Mean and standard deviation of the draws.
    low, high : float
        Probabilistically symmetric 95 % interval.
    shortest_low, shortest_high : float
        Shortest 95 % interval.
    linear_low, linear_high : float
        Linear value ± k u, k from the effective degrees of freedom.
    tolerance : float
        Half a unit in the first significant digit of the linear u (JCGM 101:2008, 7.9.2).
    agrees : bool
        Whether both ends differ by no more than `tolerance` (JCGM 101:2008, 8.1), with
        allowance for the draws' own scatter.
    edges, density : tuple of float
        Histogram of the middle 99.8 % of the draws: edges of its bins in `unit`, and draws per
        unit in each, with area 1 over all draws.
    """

    name: str
    label: str
    unit: str
    mean: float
    u: float
    low: float
    high: float
    shortest_low: float
    shortest_high: float
    linear_low: float
    linear_high: float
    tolerance: float
    agrees: bool
    edges: tuple[float, ...] = ()
    density: tuple[float, ...] = ()


@dataclass(frozen=True)
class MonteCarlo:
    """All results by sampling.

    Parameters
    ----------
    draws : int
        How many were usable.
    dropped : int
        Draws that made no physical sense (crossings in the wrong order, faster than sound).
    results : mapping of str to Sampled
    notes : tuple of str
        Where sampling and linear propagation differ, and why draws were dropped.
    """

    draws: int
    dropped: int
    results: Mapping[str, Sampled]
    notes: tuple[str, ...]


def monte_carlo(
    prediction: Prediction, draws: int = DRAWS, seed: int = 1, job: Job = QUIET
) -> MonteCarlo:
    """Sample a prediction.

    Parameters
    ----------
    prediction : Prediction
        The linear prediction to set beside.
    draws : int
        How many draws; 200 000 take well under a second.
    seed : int
        The same seed gives the same draws.
    job : Job
        Progress and cancelling.
    """
    rng = np.random.default_rng(seed)
    setup, inputs = prediction.setup, prediction.setup.inputs
    parts: list[dict[str, FloatArray]] = []
    done = dropped = 0
    while done < draws:
        job.step(done / draws, "Drawing the inputs at random")
        n = min(_CHUNK, draws - done)
        results, usable = _chunk(setup, inputs, n, rng)
        dropped += n - int(usable.sum())
        parts.append({name: x[usable] for name, x in results.items()})
        done += n
    joined = {name: np.concatenate([p[name] for p in parts]) for name in parts[0]}
    found = {name: _summary(prediction, name, x) for name, x in joined.items()}
    job.step(1.0, "Drawn")
    return MonteCarlo(draws - dropped, dropped, found, _notes(prediction, found, dropped, draws))


def draw_input(i: Input, n: int, rng: np.random.Generator) -> FloatArray:
    """Draw one input `n` times, SI: its best estimate plus every separate cause."""
    out = np.full(n, i.value)
    for part in i.components:
        out += draw_component(part, n, rng)
    return out


def draw_component(part: Component, n: int, rng: np.random.Generator) -> FloatArray:
    """Draw one cause `n` times, centred on zero (JCGM 101:2008, 6.4)."""
    if part.distribution == NORMAL:
        return part.u * rng.standard_normal(n)
    if part.distribution == STUDENT:
        return part.u * rng.standard_t(part.dof, n)
    half = half_width_of(part.u, part.distribution)
    if part.distribution == TRIANGULAR:
        return rng.triangular(-half, 0.0, half, n)
    return rng.uniform(-half, half, n)


def symmetric_interval(draws: FloatArray, level: float = LEVEL) -> tuple[float, float]:
    """Return the interval that leaves the same share on both sides."""
    tail = 0.5 * (1.0 - level)
    low, high = np.quantile(draws, [tail, 1.0 - tail])
    return float(low), float(high)


def shortest_interval(draws: FloatArray, level: float = LEVEL) -> tuple[float, float]:
    """Return the shortest interval that holds this share of the draws (JCGM 101:2008, 5.3.4)."""
    ordered = np.sort(draws)
    inside = math.ceil(level * len(ordered))
    widths = ordered[inside - 1 :] - ordered[: len(ordered) - inside + 1]
    best = int(np.argmin(widths))
    return float(ordered[best]), float(ordered[best + inside - 1])


def histogram(draws: FloatArray, bins: int = _BINS) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return edges and densities of the middle 99.8 % of the draws; empty if all are the same."""
    low, high = symmetric_interval(draws, 0.998)
    # a bin narrower than the smallest number has no density
    if not high - low > bins * np.finfo(np.float64).tiny:
        return (), ()
    counts, edges = np.histogram(draws, bins, (low, high))
    density = counts / (len(draws) * (edges[1] - edges[0]))
    return tuple(edges.tolist()), tuple(density.tolist())


def _chunk(
    setup: Setup, inputs: tuple[Input, ...], n: int, rng: np.random.Generator
) -> tuple[dict[str, FloatArray], npt.NDArray[np.bool_]]:
    values = {i.path: draw_input(i, n, rng) for i in inputs}
    with np.errstate(all="ignore"):
        given, outcome = evaluate(setup, values, inputs)
        results = {
            name: np.broadcast_to(np.asarray(x, dtype=np.float64), (n,))
            for name, x in results_of(setup, given, outcome).items()
        }
    usable = np.ones(n, dtype=np.bool_)
    for x in results.values():
        usable &= np.isfinite(x)
    for name in ("speed_mps", "approach_hz", "recede_hz"):
        usable &= results[name] > 0
    return results, usable


def _summary(prediction: Prediction, name: str, draws: FloatArray) -> Sampled:
    label, unit = RESULTS[name]
    linear = getattr(prediction, name)
    half = coverage_factor(prediction.dof[name]) * linear.u
    low, high = symmetric_interval(draws)
    shortest = shortest_interval(draws)
    tolerance = 0.5 * 10.0 ** (1 - decimals(linear.u)) if linear.u else 0.0
    # the ends of a 95 % interval scatter by about 2.7 u/sqrt(n) for a normal distribution
    allowance = tolerance + 3.0 * 2.7 * linear.u / math.sqrt(len(draws))
    off = max(abs(low - (linear.value - half)), abs(high - (linear.value + half)))
    return Sampled(
        name,
        label,
        unit,
        float(np.mean(draws)),
        float(np.std(draws)),
        low,
        high,
        *shortest,
        linear.value - half,
        linear.value + half,
        tolerance,
        bool(off <= allowance),
        *histogram(draws),
    )


def _notes(
    prediction: Prediction, found: dict[str, Sampled], dropped: int, draws: int
) -> tuple[str, ...]:
    notes = []
    differing = [s for s in found.values() if not s.agrees]
    if differing:
        names = ", ".join(s.label for s in differing)
        notes.append(
            f"Linear propagation and sampling differ in: {names}; trust the sampled interval "
            f"({_reason(prediction, differing)})."
        )
    else:
        notes.append(
            "Linear propagation and sampling agree to half a unit in the first digit of u."
        )
    if dropped:
        notes.append(
            f"{dropped} of {draws} draws made no physical sense and were left out: some input "
            "is known too poorly."
        )
    few = [i.label for i in prediction.setup.inputs if len(i.readings) in (2, 3)]
    if few:
        notes.append(
            f"With only two or three repeats ({', '.join(few)}) the scatter itself is hardly "
            "known; its draws have very wide tails, so repeat more often."
        )
    return tuple(notes)


def _reason(prediction: Prediction, differing: list[Sampled]) -> str:
    if any(abs((s.high - s.mean) - (s.mean - s.low)) > 0.05 * (s.high - s.low) for s in differing):
        return "the formulas are curved over so wide an uncertainty"
    matters = {
        line.path for s in differing for line in prediction.budget[s.name] if line.share > 0.05
    }
    flat = [
        i.label
        for i in prediction.setup.inputs
        if i.path in matters and any(c.distribution != NORMAL for c in i.components)
    ]
    return f"not everything is bell-shaped: {', '.join(flat)}" if flat else "several causes"
