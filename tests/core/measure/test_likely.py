"""The likelihood of envelopes all at once, and its slopes, against general-purpose ways."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from tests.core.measure.test_foretold import KEPT, NOISE, N, _covariance, _ways
from tests.core.measure.test_riding import EVEN, _hum

from wayside.measure.likely import log_likelihood
from wayside.measure.riding import MODES
from wayside.measure.twowheels import SHARED, Bicycle, Hum
from wayside.measure.wheelslopes import slopes_each


@pytest.mark.parametrize("alone", [False, True])
@pytest.mark.parametrize("seed", range(2))
def test_it_is_that_of_a_multivariate_normal(seed: int, alone: bool) -> None:
    # scipy.stats.multivariate_normal, a general-purpose library, as oracle, see test_foretold
    one, other = (way[:, 0] for way in _ways(seed))
    one = 0.0 * one if alone else one
    rng = np.random.default_rng(seed)
    z = rng.normal(size=(N, 2)) + 1j * rng.normal(size=(N, 2))
    want = 0.0
    for row in range(2):
        c = _covariance(one[:, row], other[:, row], row)
        real = 0.5 * np.block([[c.real, -c.imag], [c.imag, c.real]])
        x = np.concatenate([z[:, row].real, z[:, row].imag])
        want += float(multivariate_normal(np.zeros(2 * N), real).logpdf(x)) + N * np.log(np.pi)
    assert log_likelihood(z, one, other, KEPT, NOISE) == pytest.approx(want, abs=1e-8)


def test_of_two_models_one_that_is_no_number_is_not_the_likelier() -> None:
    one, other = (way[:, 0] for way in _ways(1))
    z = np.ones((N, 2), dtype=complex)
    for ways in ((np.nan * one, other), (0.0 * one, np.nan * other), (np.inf * one, other)):
        with np.errstate(invalid="ignore"):
            assert not log_likelihood(z, *ways, KEPT, NOISE) > -np.inf


def _heard(wheels: int, rides: bool) -> tuple[Hum, Bicycle]:
    rng = np.random.default_rng(wheels)
    hum = _hum()
    z = rng.normal(size=hum.blocks.z.shape) + 1j * rng.normal(size=hum.blocks.z.shape)
    hum = replace(hum, wheels=wheels, blocks=replace(hum.blocks, z=z))
    size = {name: rng.normal(size=2) for name in ("power", "balance", "hiss")}
    bicycle = replace(EVEN, waver=0.01 * rng.normal(size=MODES), **size)
    return (hum, bicycle) if rides else (replace(hum, ride=None), bicycle)


@pytest.mark.parametrize("wheels", [1, 2])
@pytest.mark.parametrize("rides", [False, True])
def test_slopes_are_those_of_the_likelihood_place_by_place(wheels: int, rides: bool) -> None:
    # each harmonic's own numbers are moved together and put together by the chain rule; moved one
    # by one, to either side, the likelihood has to rise by as much
    hum, bicycle = _heard(wheels, rides)
    # beside another, which changes nothing
    _, (loglik, scores, information) = slopes_each([(hum, EVEN), (hum, bicycle)])
    assert loglik == pytest.approx(hum.log_likelihood(bicycle), rel=1e-10)
    assert np.all(np.linalg.eigvalsh(information) > -1e-6 * np.trace(information))
    steep = np.diag(information)
    for place, slope, most in zip(hum.open, scores.sum(axis=0), steep, strict=True):
        by = 1e-8 if place == 0 else 1e-6
        step = np.zeros(SHARED + 6)
        step[place] = by
        up, down = (hum.log_likelihood(bicycle.moved(sign * step)) for sign in (1, -1))
        # differences to one side are off by about a step of what the slope changes by
        off = most * by + abs(up + down - 2.0 * loglik) / by
        assert slope == pytest.approx((up - down) / (2.0 * by), rel=2e-3, abs=2.0 * off + 1e-2)
