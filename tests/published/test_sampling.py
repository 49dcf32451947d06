"""Propagation by sampling against published worked examples."""

from __future__ import annotations

import numpy as np
import pytest

from wayside.hand.entry import Component
from wayside.hand.monte_carlo import draw_component, shortest_interval, symmetric_interval

DRAWS = 1_000_000


def test_sum_of_four_rectangular_quantities() -> None:
    """JCGM 101:2008, 9.2.3: four rectangular, unit standard deviation; 95 % ±3.88.

    The linear interval with k = 1.96 is ±3.92.
    """
    rng = np.random.default_rng(7)
    part = Component("stated", 1.0, "rectangular")
    total = sum(draw_component(part, DRAWS, rng) for _ in range(4))
    assert np.std(total) == pytest.approx(2.0, rel=0.003)
    for low, high in (symmetric_interval(total), shortest_interval(total)):
        assert low == pytest.approx(-3.88, abs=0.02)
        assert high == pytest.approx(3.88, abs=0.02)


def test_sum_of_four_normal_quantities() -> None:
    """JCGM 101:2008, 9.2.2: four normal, unit standard deviation; 95 % ±3.92."""
    rng = np.random.default_rng(7)
    part = Component("stated", 1.0, "normal")
    low, high = symmetric_interval(sum(draw_component(part, DRAWS, rng) for _ in range(4)))
    assert low == pytest.approx(-3.92, abs=0.02)
    assert high == pytest.approx(3.92, abs=0.02)


def test_logarithm_over_a_wide_range() -> None:
    """NPL report DEM-ES-011, 9.2: ln x, x uniform on 0.1 to 1.1.

    Published: mean -0.665, u 0.606, shortest 95 % interval -1.895 to 0.095; the linear answer
    -0.511, 0.481 is far off. (Read second-hand, recomputed.)
    """
    rng = np.random.default_rng(7)
    x = 0.6 + draw_component(Component("stated", 0.5 / np.sqrt(3), "rectangular"), DRAWS, rng)
    y = np.log(x)
    assert np.mean(y) == pytest.approx(-0.665, abs=0.002)
    assert np.std(y) == pytest.approx(0.606, abs=0.002)
    low, high = shortest_interval(y)
    assert low == pytest.approx(-1.895, abs=0.01)
    assert high == pytest.approx(0.095, abs=0.005)


def test_expansion_coefficient_by_sampling() -> None:
    """NIST Technical Note 1900, example E13 (read second-hand): 1.7266e-5, u 1.76e-6 per kelvin.

    Student inputs with three degrees of freedom, scaled to the tabulated standard deviations;
    their tails are so wide that the spread is checked to 5 %.
    """
    rng = np.random.default_rng(7)
    scale = np.sqrt(1 / 3)  # Student's t with 3 degrees of freedom has standard deviation sqrt(3)
    l0, t0, l1, t1 = (
        value + draw_component(Component("repeats", u * scale, "t", 3.0), DRAWS, rng)
        for value, u in ((1.4999, 0.0001), (288.15, 0.02), (1.5021, 0.0002), (373.10, 0.05))
    )
    alpha = (l1 - l0) / (l0 * (t1 - t0))
    assert np.mean(alpha) == pytest.approx(1.7266e-5, rel=0.002)
    assert np.std(alpha) == pytest.approx(1.76e-6, rel=0.05)
