"""The fit of a brief pass on its samples against a general solver and the Cramér-Rao bound."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy import stats
from scipy.optimize import least_squares
from scipy.signal import lfilter
from tests.benchmarks.crb import Tone, bound

from wayside.jobs import QUIET
from wayside.measure.comb import Comb
from wayside.measure.ladder import CONSTANT
from wayside.measure.motion import NAMES, to_vector
from wayside.measure.polish import polish
from wayside.measure.refine import Sound, refine
from wayside.measure.search import Candidate
from wayside.measure.waveform import Waveform
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import simple_scene

FloatArray = npt.NDArray[np.float64]
# one cycle a crossing time
BRIEF = PassBy(80.0, 40.0, 0.5, 0.75, 343.2)
RATE, LENGTH_S = 1000.0, 1.5
TIMES = np.arange(0.0, LENGTH_S, 1 / RATE)


def _tone(noise: float) -> Tone:
    p = BRIEF
    place = (p.source_hz, p.speed_mps, p.closest_m, p.passing_time_s, p.sound_speed_mps)
    return Tone(*place, (1.0, 0.6), (0.4, 1.1), noise)


def _signal(p: PassBy) -> FloatArray:
    """The sound itself, written out from the closed form of the retarded time."""
    since = TIMES - p.passing_time_s
    c, v, d = p.sound_speed_mps, p.speed_mps, p.closest_m
    free = c * c - v * v
    u = (c * c * since - np.sqrt((c * v * since) ** 2 + free * d * d)) / free
    turn = 2 * np.pi * p.source_hz * u
    return d / np.hypot(d, v * u) * (np.cos(turn + 0.4) + 0.6 * np.cos(2 * turn + 1.1))


def _wave(noise: float, seed: int, rest: float = 0.0) -> Waveform:
    white = np.random.default_rng(seed).normal(0.0, noise, TIMES.size)
    coloured = lfilter([1.0], [1.0, -rest], white)
    return Waveform(TIMES, _signal(BRIEF) + coloured, (1, 2), np.ones(1), noise**2)


def test_the_maximum_is_that_of_a_general_solver() -> None:
    wave = _wave(0.05, 1)
    rung = wave.climb(BRIEF, steps=30)

    def residuals(x: FloatArray) -> FloatArray:
        p = BRIEF.with_(**dict(zip(NAMES[:4], map(float, x[:4]), strict=True)))
        u = p.emission_time(TIMES) - p.passing_time_s
        turn = 2 * np.pi * p.source_hz * u
        wave_ = x[4] * np.cos(turn) + x[5] * np.sin(turn)
        wave_ += x[6] * np.cos(2 * turn) + x[7] * np.sin(2 * turn)
        return (wave.samples - wave_ * p.closest_m / np.hypot(p.closest_m, p.speed_mps * u)) / 0.05

    start = np.concatenate([to_vector(BRIEF)[:4], [0.9, -0.4, 0.3, -0.5]])
    found = least_squares(residuals, start, "3-point", x_scale="jac", xtol=1e-14, ftol=1e-14)
    covariance = np.linalg.inv(found.jac.T @ found.jac)[:4, :4]
    u = np.sqrt(np.diag(covariance))
    assert np.all(np.abs(to_vector(rung.passby)[:4] - found.x[:4]) < 0.01 * u)
    scale = np.array([80.0, 40.0, 0.5, 0.0125])
    ours = np.linalg.inv(2 * rung.normal) * np.outer(scale, scale)
    assert ours / np.outer(u, u) == pytest.approx(covariance / np.outer(u, u), abs=0.1)


def test_the_curvature_at_the_truth_is_the_bound() -> None:
    """Kay 1993, equation 3.31, as the benchmark writes it, independent of the program."""
    noise = 0.01
    sums = _wave(noise, 2).sums_at(BRIEF, CONSTANT)
    limit = bound(_tone(noise), LENGTH_S, RATE)
    scale = np.array([80.0, 40.0, 0.5, 0.0125])
    ours = np.sqrt(np.diag(np.linalg.inv(2 * sums.normal))) * scale
    assert ours == pytest.approx([limit[name] for name in NAMES[:4]], rel=0.02)


def test_slopes_are_those_of_the_likelihood() -> None:
    wave = _wave(0.1, 3)
    off = BRIEF.with_(speed_mps=41.0, closest_m=0.52)
    sums = wave.sums_at(off, CONSTANT)
    for i, name in enumerate(NAMES[:4]):
        h = 1e-5 * (1.0 if i == 3 else getattr(off, name))
        above, below = (
            wave.sums_at(off.with_(**{name: getattr(off, name) + s * h}), CONSTANT).gain
            for s in (1, -1)
        )
        scale = 0.52 / 41.0 if i == 3 else getattr(off, name)
        assert 2 * sums.gradient[i] == pytest.approx((above - below) / (2 * h) * scale, rel=1e-3)


def test_coloured_noise_is_made_white() -> None:
    wave, rung = _wave(0.1, 4, rest=0.9).settled(BRIEF)
    rest = wave.projected(rung.passby).rest
    assert abs(np.corrcoef(rest[1:], rest[:-1])[0, 1]) < 3 / np.sqrt(rest.size)
    assert wave.variance == pytest.approx(0.01, rel=0.15)


def test_departures_from_the_distance_law_are_seen_and_noise_is_not() -> None:
    """Under 1/r the statistic is chi-squared with four freedoms (Rao 1948)."""
    found = []
    for seed in range(60):
        wave, rung = _wave(0.2, 100 + seed).settled(BRIEF)
        found.append(wave.departure(rung))
    assert stats.kstest(found, stats.chi2(4).cdf).pvalue > 0.001
    tau = BRIEF.emission_time(TIMES) - BRIEF.passing_time_s
    ahead = 1.0 + 0.5 * np.sin(np.arctan2(BRIEF.speed_mps * tau, BRIEF.closest_m))
    noise = np.random.default_rng(5).normal(0.0, 0.02, TIMES.size)
    directed = Waveform(TIMES, _signal(BRIEF) * ahead + noise, (1, 2), np.ones(1), 4e-4)
    wave, rung = directed.settled(BRIEF)
    assert wave.departure(rung) > 100.0


def test_what_the_passing_leaves_unexplained() -> None:
    quiet, rung = _wave(0.1, 6).settled(BRIEF)
    assert abs(quiet.unexplained(rung.passby)) < 4.0
    # a phase that wanders by half a radian where the tone is loud
    turn = np.cumsum(np.random.default_rng(7).normal(0.0, 0.12, TIMES.size))
    p = BRIEF
    u = p.emission_time(TIMES) - p.passing_time_s
    sound = 0.5 / np.hypot(0.5, 40.0 * u) * np.cos(2 * np.pi * 80.0 * u + turn)
    noise = np.random.default_rng(8).normal(0.0, 0.02, TIMES.size)
    restless, rung = Waveform(TIMES, sound + noise, (1,), np.ones(1), 4e-4).settled(BRIEF)
    assert restless.unexplained(rung.passby) > 8.0


def test_a_brief_pass_is_fitted_on_its_samples_and_its_faint_harmonic_let_in() -> None:
    p = BRIEF.with_(passing_time_s=1.0)
    scene = simple_scene(p, 2.0, 8000.0, (1.0, 0.6, 0.1), 10.0).with_(convective=False)
    sound = Sound(render(scene, 1)[:, 0], 8000.0, 0.0)
    mach = 40.0 / 343.2
    found = Candidate(80.0 / (1 - mach**2), mach, 0.0124, 1.0, 100.0, 10.0, 0)
    start = refine(sound, found, Comb(1, (1, 2), 100.0), 343.2, QUIET)
    assert start.harmonics == (1, 2)
    polished = polish(sound, start)
    assert polished.waveform is not None
    assert polished.waveform.harmonics == (1, 2, 3)
    best = polished.rung.passby
    u = np.sqrt(np.diag(np.linalg.inv(2 * polished.rung.normal)))
    assert abs(best.speed_mps / 40.0 - 1) < 4 * u[1] < 0.02
