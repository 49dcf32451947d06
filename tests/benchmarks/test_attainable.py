"""The best estimator there can be: its likelihood, and that it reaches the bound where one can."""

from __future__ import annotations

import numpy as np
import pytest
from tests.benchmarks.attainable import Sound, best_of, covariance_of, row_of
from tests.benchmarks.cells import Cell
from tests.benchmarks.crb import PARAMETERS
from tests.benchmarks.near_bound import COLUMNS

from wayside.simulate.render import render
from wayside.simulate.scene import Background

BRIEF = Cell(250.0, 45.0, 0.5, 6, 0.0)


def test_the_likelihood_is_that_of_all_samples() -> None:
    # least squares on every sample at the full rate (numpy.linalg.lstsq), sines and cosines as
    # they stand, against the decimated sound split near the passing and far from it
    scene = BRIEF.scene(3)
    x = np.ravel(render(scene, 3)).astype(np.float64)
    variance = float(np.var(x - np.ravel(render(scene.with_(background=Background()), 3))))
    t = np.arange(x.size) / scene.rate_hz
    sound = Sound(BRIEF, 3)
    steps = np.random.default_rng(5).normal(size=(5, 4)) * 2.0
    curves = sound.truth + steps @ np.linalg.cholesky(covariance_of(BRIEF)).T
    c = scene.sources[0].passby.sound_speed_mps
    expected = []
    for f0, v, d, t0 in curves:
        since = t - t0
        free = c * c - v * v
        u = (c * c * since - np.sqrt(c * c * v * v * since**2 + free * d * d)) / free
        gain = d / np.hypot(d, v * u)
        turns = [2 * np.pi * k * f0 * u for k in range(1, 7)]
        basis = np.array([gain * f(turn) for f in (np.cos, np.sin) for turn in turns]).T
        left = x - basis @ np.linalg.lstsq(basis, x, rcond=None)[0]
        half_logdet = 0.5 * np.linalg.slogdet(basis.T @ basis)[1]
        expected.append(-0.5 * float(left @ left) / variance - half_logdet)
    found = sound.log_likelihood(curves)
    np.testing.assert_allclose(found - found[0], np.array(expected) - expected[0], atol=0.1)
    assert sound.log_likelihood(sound.truth[None, :] * [1.0, 1.2, 1.0, 1.0])[0] == -np.inf


def test_where_the_bound_can_be_reached_the_posterior_is_as_wide() -> None:
    # with little noise the posterior is normal with the bound's covariance (Bernstein and von
    # Mises; van der Vaart, Asymptotic Statistics, 1998, 10.2; memory)
    cell = Cell(800.0, 25.0, 1.5, 1, 10.0)
    found = [best_of((cell, seed)) for seed in range(6)]
    row = row_of(cell, found, dict.fromkeys(COLUMNS, ""))
    for name in ("v", "f0"):
        assert row[f"{name}: width of the posterior / bound"] == pytest.approx(1.0, abs=0.1)
        # 6 runs are within the 99.8 % interval of chi-squared, 0.25 to 1.94 for the root
        assert 0.25 < row[f"{name}: RMS / bound, attainable"] < 1.94
    assert row["curves that count"] > 500.0


def test_a_brief_pass_leaves_more_open_than_the_bound_knows_of() -> None:
    found = [best_of((BRIEF, seed)) for seed in range(4)]
    widths = np.array([one.widths for one in found])
    wide = np.sqrt(np.mean(widths**2, axis=0))
    assert wide[PARAMETERS.index("speed_mps")] > 1.2
    # of a curve's errors and its width neither is the other's by construction
    errors = np.array([one.errors for one in found])
    assert np.all(np.abs(errors) < 5.0 * widths)
