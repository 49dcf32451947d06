"""The foretelling of envelopes against plain multivariate normal densities."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from wayside.measure.foretold import Foretold, foretold

N, KEPT, NOISE = 40, np.array([0.9, 0.6]), np.array([0.1, 0.3])


def _ways(seed: int, models: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Two sources that turn and fade each in its own way, shape (N, models, 2) each."""
    rng = np.random.default_rng(seed)
    shape = (N, models, KEPT.size)
    made = [
        rng.uniform(0.3, 1.2, shape) * np.exp(2j * np.pi * np.cumsum(rng.normal(0, 0.1, shape), 0))
        for _ in range(2)
    ]
    return made[0], made[1]


def _covariance(one: np.ndarray, other: np.ndarray, row: int) -> np.ndarray:
    lag = np.abs(np.arange(N)[:, None] - np.arange(N)[None, :])
    fading = KEPT[row] ** lag
    both = np.outer(one, one.conj()) + np.outer(other, other.conj())
    return both * fading + NOISE[row] * np.eye(N)


def _foretold(z: np.ndarray, one: np.ndarray, other: np.ndarray) -> Foretold:
    models = one.shape[1]
    return foretold(z, one, other, np.tile(KEPT, (models, 1)), np.tile(NOISE, (models, 1)))


@pytest.mark.parametrize("seed", range(3))
def test_the_log_likelihood_is_that_of_a_multivariate_normal(seed: int) -> None:
    # scipy.stats.multivariate_normal, a general-purpose library, as oracle: a complex normal
    # vector of covariance C is a real one of [[Re C, -Im C], [Im C, Re C]] / 2
    one, other = _ways(seed)
    rng = np.random.default_rng(100 + seed)
    z = rng.normal(size=(N, 2)) + 1j * rng.normal(size=(N, 2))
    want = 0.0
    for row in range(2):
        c = _covariance(one[:, 0, row], other[:, 0, row], row)
        real = 0.5 * np.block([[c.real, -c.imag], [c.imag, c.real]])
        x = np.concatenate([z[:, row].real, z[:, row].imag])
        want += float(multivariate_normal(np.zeros(2 * N), real).logpdf(x)) + N * np.log(np.pi)
    got = float(_foretold(z, one, other).terms().sum())
    assert got == pytest.approx(want, abs=1e-8)


def test_each_model_may_have_envelopes_of_its_own() -> None:
    one, other = _ways(7, models=2)
    rng = np.random.default_rng(8)
    z = rng.normal(size=(N, 2, 2)) + 1j * rng.normal(size=(N, 2, 2))
    together = _foretold(z, one, other).terms().sum(axis=1)
    for i in range(2):
        alone = _foretold(z[:, i], one[:, [i]], other[:, [i]])
        assert float(alone.terms().sum()) == pytest.approx(together[i])


def test_slopes_and_information_are_those_of_the_likelihood() -> None:
    # drawn from the model, the scores scatter as the information says (Bartlett's identity);
    # 400 draws tell a variance to 7 %
    one, other = _ways(3)
    steps = np.array([1e-5, 1e-5])
    turned = one * np.exp(1j * steps[0] * np.arange(N)[:, None, None])
    louder = other * (1.0 + steps[1])
    ways = (
        np.concatenate([one, turned, one], axis=1),
        np.concatenate([other, other, louder], axis=1),
    )
    rng = np.random.default_rng(4)
    roots = [
        np.linalg.cholesky(_covariance(one[:, 0, row], other[:, 0, row], row)) for row in range(2)
    ]
    summed, expected = [], np.zeros((2, 2))
    for _ in range(400):
        white = (rng.normal(size=(2, N)) + 1j * rng.normal(size=(2, N))) / np.sqrt(2)
        z = np.stack([root @ w for root, w in zip(roots, white, strict=True)], axis=1)
        all_of = _foretold(z, *ways)
        scores, information = all_of.slopes(*all_of.changes(steps))
        value = all_of.terms().sum(axis=1)
        slope = (value[1:] - value[0]) / steps
        assert scores.sum(axis=0) == pytest.approx(slope, rel=1e-2, abs=1e-2)
        summed.append(scores.sum(axis=0))
        expected += information / 400
    found = np.cov(np.array(summed).T)
    assert np.diag(found) == pytest.approx(np.diag(expected), rel=0.2)
    assert np.mean(summed, axis=0) == pytest.approx([0, 0], abs=4 * np.sqrt(expected.max() / 400))
