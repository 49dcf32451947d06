"""Weighted mean, chi-square, Birge ratio and scatter against worked examples of others."""

from __future__ import annotations

import numpy as np
import pytest

from wayside.quantity import Quantity
from wayside.review.pool import Pooled, pool


def _pool(values: list[float], u: list[float]) -> Pooled:
    return pool([Quantity(x, s, "") for x, s in zip(values, u, strict=True)])


def test_three_resistances() -> None:
    # J. R. Taylor, An Introduction to Error Analysis, section 7.2 (memory; arithmetic re-derived):
    # 11 ± 1, 12 ± 1 and 10 ± 3 ohm give 11.42 ± 0.69 ohm
    got = _pool([11.0, 12.0, 10.0], [1.0, 1.0, 3.0])
    assert got.weighted.value == pytest.approx(11.42, abs=0.005)
    assert got.weighted.u == pytest.approx(0.69, abs=0.005)
    # they agree, so nothing is added
    assert got.mean.u == got.weighted.u
    assert got.consistent


def test_the_mass_of_the_charged_kaon() -> None:
    # Particle Data Group, charged kaon listing (memory; arithmetic re-derived): the five most
    # precise values (MeV) average to 493.677 with error 0.013, scale factor (Birge) 2.4 included
    values = [493.696, 493.636, 493.670, 493.657, 493.691]
    got = _pool(values, [0.007, 0.011, 0.029, 0.020, 0.040])
    assert got.weighted.value == pytest.approx(493.677, abs=5e-4)
    assert got.birge == pytest.approx(2.4, abs=0.05)
    assert got.external_u == pytest.approx(0.013, abs=5e-4)
    assert not got.consistent


# Thirteen trials of a vaccine: counts (ill, well) with and without it. Colditz et al., J. Am. Med.
# Assoc. 271 (1994) 698; the table as it is used throughout the literature on pooling (memory; the
# published Q confirms it).
TRIALS = np.array(
    [
        (4, 119, 11, 128),
        (6, 300, 29, 274),
        (3, 228, 11, 209),
        (62, 13536, 248, 12619),
        (33, 5036, 47, 5761),
        (180, 1361, 372, 1079),
        (8, 2537, 10, 619),
        (505, 87886, 499, 87892),
        (29, 7470, 45, 7232),
        (17, 1699, 65, 1600),
        (186, 50448, 141, 27197),
        (5, 2493, 3, 2338),
        (27, 16886, 29, 17825),
    ],
    dtype=float,
)


def test_thirteen_trials() -> None:
    ill, well, ill0, well0 = TRIALS.T
    ratio = np.log(ill / (ill + well) / (ill0 / (ill0 + well0)))
    variance = 1 / ill - 1 / (ill + well) + 1 / ill0 - 1 / (ill0 + well0)
    got = _pool(list(ratio), list(np.sqrt(variance)))
    # Q = 152.233 and the fixed mean -0.430 with error 0.0405: published many times for these data
    # (memory); all numbers confirmed with statsmodels 0.15.0, combine_effects, Paule and Mandel
    assert got.chi_square == pytest.approx(152.233008, rel=1e-7)
    assert got.weighted.value == pytest.approx(-0.430285164, rel=1e-7)
    assert got.weighted.u == pytest.approx(0.0404987517, rel=1e-7)
    assert got.scatter**2 == pytest.approx(0.3180684522, rel=1e-7)
    assert got.mean.value == pytest.approx(-0.7149681535, rel=1e-7)
    assert got.mean.u == pytest.approx(0.1808921915, rel=1e-7)


@pytest.mark.parametrize(
    ("chi_square", "dof", "probability"),
    # any handbook table of chi-square: upper 5 % and 1 % points (memory)
    [(3.841, 1, 0.05), (5.991, 2, 0.05), (9.488, 4, 0.05), (11.345, 3, 0.01), (18.307, 10, 0.05)],
)
def test_probability_of_chi_square(chi_square: float, dof: int, probability: float) -> None:
    # n values with unit uncertainty whose squares about their mean add up to chi-square
    n = dof + 1
    x = np.arange(n) - 0.5 * dof
    x *= np.sqrt(chi_square / np.sum(x**2))
    got = _pool(list(x), [1.0] * n)
    assert got.chi_square == pytest.approx(chi_square, rel=1e-12)
    assert got.p_value == pytest.approx(probability, rel=0.01)


def test_equal_uncertainties_give_the_plain_mean_and_its_scatter() -> None:
    # JCGM 100:2008, 4.2: mean and standard deviation of repeats
    x = [3.1, 2.7, 4.0, 3.3, 2.2]
    got = _pool(x, [0.1] * 5)
    assert got.mean.value == pytest.approx(np.mean(x))
    assert np.hypot(got.scatter, 0.1) == pytest.approx(np.std(x, ddof=1))
    assert got.mean.u == pytest.approx(np.std(x, ddof=1) / np.sqrt(5))
    assert got.dof == pytest.approx(4)
