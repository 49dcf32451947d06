"""What is known of a brief pass by weighing many curves, against distributions known otherwise.

The density of a mixture of normal distributions is checked against scipy's; the rendering is
the project's own (self-consistency).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import logsumexp
from scipy.stats import multivariate_normal
from tests.benchmarks.cells import all_cells
from tests.benchmarks.near_bound import one

from wayside.measure.ladder import CONSTANT, scale_of
from wayside.measure.mixture import mixed, steps_between
from wayside.measure.posterior import _mixture, _resampled, _Round
from wayside.physics.passby import PassBy

P = PassBy(80.0, 45.0, 1.5, 1.5, 343.2)


def _round() -> _Round:
    rng = np.random.default_rng(1)
    root = np.tril(0.3 * rng.normal(size=(4, 4)), -1) + np.diag([0.5, 1.0, 2.0, 0.7])
    return _Round(rng.normal(size=(5, 4)), (0.5, 2.0), root)


def test_density_is_that_of_a_mixture_of_normal_distributions() -> None:
    drawn = _round()
    x = drawn.drawn(50, np.random.default_rng(2))
    terms = [
        multivariate_normal(centre, s**2 * drawn.root @ drawn.root.T).logpdf(x)
        for centre in drawn.centres
        for s in drawn.scales
    ]
    expected = logsumexp(terms, axis=0) - np.log(len(terms))
    assert drawn.log_density(x) == pytest.approx(expected, abs=1e-10)


def test_curves_are_drawn_as_the_density_says() -> None:
    drawn = _round()
    x = drawn.drawn(40_000, np.random.default_rng(3))
    assert x.mean(axis=0) == pytest.approx(drawn.centres.mean(axis=0), abs=0.06)
    # of two densities, one for drawing and one asked about, the ratio averages to 1
    other = multivariate_normal(drawn.centres[0], drawn.root @ drawn.root.T)
    ratio = np.exp(other.logpdf(x) - drawn.log_density(x))
    assert np.mean(ratio) == pytest.approx(1.0, abs=4.0 * np.std(ratio) / 200.0)


def test_resampling_takes_each_as_often_as_it_weighs() -> None:
    weight = np.array([0.1, 0.0, 0.55, 0.35])
    chosen = _resampled(weight, 200, np.random.default_rng(4))
    share = np.bincount(chosen, minlength=4) / 200
    assert share == pytest.approx(weight, abs=1.0 / 200 + 1e-12)


def test_parts_have_the_mean_and_the_spread_of_what_was_weighed() -> None:
    rng = np.random.default_rng(5)
    size = np.array([1e-4, 3e-3, 2e-2, 1e-2])
    x = size * rng.normal(size=(3000, 4)) + np.where(rng.random((3000, 1)) < 0.3, 4.0, 0.0) * size
    weight = rng.random(3000)
    weight /= weight.sum()
    found = _mixture(P, x, weight, 7.0, rng)
    mean = weight @ x
    assert steps_between(P, found.passby, CONSTANT) == pytest.approx(mean, abs=1e-9)
    spread = np.sqrt(np.diag(np.cov(x.T, aweights=weight, bias=True)))
    stated = np.sqrt(np.diag(found.covariance)) * scale_of(found.passby)[:4] / scale_of(P)[:4]
    stated[:3] = np.sqrt(np.diag(found.covariance))[:3]
    assert stated == pytest.approx(spread, rel=1e-6)
    again = mixed(found.parts, CONSTANT)
    assert np.sqrt(np.diag(again.covariance))[:3] == pytest.approx(spread[:3], rel=0.12)
    # the evidence leaves out what a maximum's does: four times half the log of two pi
    assert found.height == pytest.approx(7.0 - 2.0 * np.log(2.0 * np.pi), abs=1e-9)


@pytest.mark.parametrize("seed", [10, 42])
def test_where_maxima_run_together_more_is_left_open(seed: int) -> None:
    # a normal distribution at each maximum says 0.08 m/s, and is 3.2 and 3.7 of them off
    cell = next(c for c in all_cells() if c.name == "80Hz-45mps-1.5m-6h--10dB")
    out = one((cell, seed))
    assert out.found
    assert out.us["speed_mps"] > 0.1
    assert abs(out.errors["speed_mps"]) < 2.9 * out.us["speed_mps"]
