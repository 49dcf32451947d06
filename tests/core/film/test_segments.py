"""Speeds from crossings: coverage, and whether the constant-speed check can be trusted."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import curve_fit

from wayside.errors import InputError
from wayside.film.segments import speeds
from wayside.quantity import Quantity

STEP = 1 / 30


def _observe(
    rng: np.random.Generator, true_t: np.ndarray, true_x: np.ndarray, u_x: float
) -> tuple[list[Quantity], list[Quantity]]:
    """Crossing times seen between frames, marker positions read off a tape."""
    phase = rng.uniform(0, STEP)
    before = np.floor((true_t - phase) / STEP) * STEP + phase
    u_t = STEP / math.sqrt(12)
    x = true_x + rng.normal(0, u_x, len(true_x))
    x[0] = true_x[0]
    return (
        [Quantity(t + STEP / 2, u_t, "s") for t in before],
        [Quantity(v, u_x if k else 0.0, "m") for k, v in enumerate(x)],
    )


def _crossings(
    rng: np.random.Generator, n: int, speed: float, acceleration: float
) -> tuple[np.ndarray, np.ndarray]:
    x = np.concatenate(([0.0], np.cumsum(rng.uniform(1.0, 3.0, n - 1))))
    if acceleration == 0:
        return x / speed + rng.uniform(0, 1), x
    return (-speed + np.sqrt(speed**2 + 2 * acceleration * x)) / acceleration, x


@pytest.mark.parametrize("n_markers", [2, 3, 5])
def test_coverage_of_the_speed(n_markers: int) -> None:
    rng = np.random.default_rng(n_markers)
    z = []
    for _ in range(500):
        speed = rng.uniform(2, 8)
        t, x = _crossings(rng, n_markers, speed, 0.0)
        result = speeds(*_observe(rng, t, x, 0.01))
        z.append((result.speed.value - speed) / result.speed.u)
        for segment in result.segments:
            assert segment.speed.u > 0
    z = np.array(z)
    assert math.sqrt((z**2).mean()) == pytest.approx(1.0, abs=0.12)
    assert (np.abs(z) < 2).mean() > 0.93


@pytest.mark.parametrize("n_markers", [3, 5])
def test_constant_speed_is_seldom_doubted(n_markers: int) -> None:
    """A probability below p should come up in a share p of films; here to within 0.04."""
    rng = np.random.default_rng(10 + n_markers)
    chances = []
    for _ in range(500):
        t, x = _crossings(rng, n_markers, rng.uniform(2, 8), 0.0)
        check = speeds(*_observe(rng, t, x, 0.02)).constancy
        assert check is not None
        assert check.degrees_of_freedom == n_markers - 2
        chances.append(check.probability)
    for level in (0.02, 0.05, 0.10, 0.20):
        assert (np.array(chances) < level).mean() == pytest.approx(level, abs=0.04)
    assert (np.array(chances) < 0.05).any()


def test_slowing_is_noticed_and_measured() -> None:
    rng = np.random.default_rng(5)
    doubted, z = 0, []
    for _ in range(300):
        t, x = _crossings(rng, 5, 5.0, -0.8)
        check = speeds(*_observe(rng, t, x, 0.01)).constancy
        assert check is not None
        doubted += check.probability < 0.05
        z.append((check.acceleration.value + 0.8) / check.acceleration.u)
    assert doubted > 250
    assert "slowing" in check.sentence
    assert math.sqrt((np.array(z) ** 2).mean()) == pytest.approx(1.0, abs=0.15)


def test_against_a_general_purpose_least_squares_fit() -> None:
    """Exact positions: t = t0 + x/v by scipy.optimize.curve_fit with absolute weights."""
    x = np.array([0.0, 2.0, 4.0, 7.0])
    t = np.array([1.00, 1.41, 1.79, 2.42])
    u = np.array([0.01, 0.02, 0.01, 0.03])
    best, covariance = curve_fit(lambda x, t0, s: t0 + s * x, x, t, sigma=u, absolute_sigma=True)
    result = speeds(
        [Quantity(a, b, "s") for a, b in zip(t, u, strict=True)],
        [Quantity(v, 0.0, "m") for v in x],
    )
    assert result.speed.value == pytest.approx(1 / best[1], rel=1e-6)
    assert result.speed.u == pytest.approx(math.sqrt(covariance[1, 1]) / best[1] ** 2, rel=1e-5)
    misfit = (((t - best[0] - best[1] * x) / u) ** 2).sum()
    assert result.constancy is not None
    assert result.constancy.chi_square == pytest.approx(misfit, rel=1e-5)


def test_two_markers_by_hand() -> None:
    """v = 3 m / 0.6 s; (u_v/v)^2 = (0.01/3)^2 + 2 (0.0096/0.6)^2 + 0.002^2."""
    times = [Quantity(1.0, 0.0096, "s"), Quantity(1.6, 0.0096, "s")]
    places = [Quantity(0, 0, "m"), Quantity(3.0, 0.01, "m")]
    result = speeds(times, places, scale_relative_u=0.002)
    assert result.speed.value == pytest.approx(5.0)
    expected = 5 * math.sqrt((0.01 / 3) ** 2 + 2 * (0.0096 / 0.6) ** 2 + 0.002**2)
    assert result.speed.u == pytest.approx(expected)
    assert result.constancy is None


def test_running_against_the_tape_is_the_same_speed() -> None:
    times = [Quantity(t, 0.01, "s") for t in (1.0, 2.0, 3.0)]
    there = speeds(times, [Quantity(x, 0.01, "m") for x in (0.0, 4.0, 8.0)])
    back = speeds(times, [Quantity(x, 0.01, "m") for x in (8.0, 4.0, 0.0)])
    assert back.speed.value == pytest.approx(there.speed.value)


@pytest.mark.parametrize(
    ("t", "x"),
    [([1.0], [0.0]), ([1.0, 2.0], [0.0]), ([1.0, 1.0], [0.0, 3.0]), ([1.0, 2.0], [3.0, 3.0]),
     ([1.0, 2.0, 3.0], [0.0, 5.0, 4.0]), ([1.0, math.nan], [0.0, 3.0])],
)  # fmt: skip
def test_impossible_crossings(t: list[float], x: list[float]) -> None:
    with pytest.raises(InputError):
        speeds([Quantity(v, 0.01, "s") for v in t], [Quantity(v, 0.0, "m") for v in x])
