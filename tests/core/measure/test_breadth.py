"""A fit cut along the crossing time, against importance sampling of the same posterior.

Importance sampling (Monte Carlo integration with a proposal of wider tails) asks the likelihood
of every drawn motion itself; nothing in it is made linear. The recording is the scene's own
(self-consistency).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from scipy.linalg import solve_triangular
from scipy.special import logsumexp
from scipy.stats import multivariate_t
from tests.core.measure.recordings import SOUND_SPEED

from wayside.measure import models
from wayside.measure.breadth import WIDE, part_of, parts_of
from wayside.measure.demod import Blocks
from wayside.measure.doubt import beliefs_of
from wayside.measure.ladder import moved, scale_of
from wayside.measure.mixture import Part, mixed, steps_between, weights_of
from wayside.measure.motion import phase_model
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import PhaseFit, Priors, linear_data
from wayside.measure.phases import track_phase
from wayside.measure.pipeline import measure
from wayside.measure.unrest import covariance_of
from wayside.physics.passby import PassBy
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

RATE_HZ = 8000.0
DRAWS, TAILS = 4000, 6
CLOSEST, PASSING = 2, 3


@dataclass(frozen=True)
class Seen:
    """What was fitted first, and the parts it was cut into."""

    blocks: Blocks
    fit: PhaseFit
    priors: Priors
    parts: list[Part]


def _seen(coherence_s: float, closest_m: float, seed: int, monkeypatch: pytest.MonkeyPatch) -> Seen:
    seen: list[Seen] = []

    def watched(blocks: Blocks, fit: PhaseFit, priors: Priors, *more: Any) -> list[Part]:
        parts = parts_of(blocks, fit, priors, *more)
        seen.append(Seen(blocks, fit, priors, parts))
        return parts

    hum = PassBy(300.0, 6.0, closest_m, 2.6, SOUND_SPEED.value, -0.07, True)
    source = Source(hum, (1.0, 0.5), coherence_s=coherence_s)
    scene = Scene((source,), 5.2, RATE_HZ, background=Background(20.0))
    with monkeypatch.context() as patch:
        patch.setattr(models, "parts_of", watched)
        options = MeasureOptions(sound_speed=SOUND_SPEED, source_kind="wheel")
        measure(Recording.from_array(render(scene, seed), RATE_HZ), options)
    assert seen, "the hum was not followed"
    return seen[0]


def _sampled(seen: Seen, lead: PassBy) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and standard deviation of the steps from `lead`, by importance sampling."""
    rng = np.random.default_rng(1)
    fit, free = seen.fit, seen.fit.free
    data = linear_data(track_phase(seen.blocks, fit.passby), fit.passby, free, seen.priors)
    root = np.linalg.cholesky(covariance_of(data, fit.unrest))
    there = phase_model(fit.passby, data.times_s).cycles
    even = solve_triangular(root, np.ones(there.size), lower=True)

    def height(p: PassBy) -> float:
        left = data.cycles - (phase_model(p, data.times_s).cycles - there)
        white = solve_triangular(root, left, lower=True)
        white -= even * (even @ white) / (even @ even)
        _, values, u = seen.priors.rows(p, free)
        return float(-0.5 * white @ white - 0.5 * np.sum((values / u) ** 2))

    weights = weights_of(seen.parts)
    middles = [steps_between(lead, part.passby, free) for part in seen.parts]
    spreads = [1.6 * _in_steps_of(lead, part, free) for part in seen.parts]
    roots = [np.linalg.cholesky(spread) for spread in spreads]
    drawn = np.array(
        [
            middles[i]
            + roots[i] @ rng.normal(size=len(free)) / np.sqrt(rng.chisquare(TAILS) / TAILS)
            for i in rng.choice(weights.size, DRAWS, p=weights)
        ]
    )
    proposed = logsumexp(
        [
            np.log(w) + multivariate_t(m, s, df=TAILS).logpdf(drawn)
            for w, m, s in zip(weights, middles, spreads, strict=True)
        ],
        axis=0,
    )
    log = np.array([height(moved(lead, step, free, most=np.inf)) for step in drawn]) - proposed
    share = np.exp(log - logsumexp(log))
    assert 1.0 / np.sum(share**2) > DRAWS / 10, "too few draws count"
    mean = share @ drawn
    return mean, np.sqrt(share @ (drawn - mean) ** 2)


def _in_steps_of(lead: PassBy, part: Part, free: tuple[int, ...]) -> np.ndarray:
    factor = (scale_of(part.passby) / scale_of(lead))[list(free)]
    factor[:PASSING] = 1.0
    return np.asarray(part.covariance * np.outer(factor, factor))


@pytest.fixture(params=[1, 2])
def wide(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Seen:
    """A hum that leaves its crossing time wide open."""
    return _seen(0.1, 2.7, request.param, monkeypatch)


def test_the_parts_together_are_the_posterior(wide: Seen) -> None:
    assert len(wide.parts) > 3
    lead, free = wide.fit.passby, wide.fit.free
    mean, sd = _sampled(wide, lead)
    together = mixed(wide.parts, free)
    cut = np.sqrt(np.diag(_in_steps_of(lead, Part(together.passby, together.covariance, 0), free)))
    whole = np.sqrt(np.diag(part_of(wide.fit).covariance))
    off = steps_between(lead, together.passby, free) - mean
    assert np.all(np.abs(off) < 0.25 * sd)
    assert cut == pytest.approx(sd, rel=0.25)
    assert abs(np.log(cut[PASSING] / sd[PASSING])) < abs(np.log(whole[PASSING] / sd[PASSING]))


def test_a_sure_fit_stays_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = _seen(4.0, 1.2, 1, monkeypatch)
    crossing = np.zeros(len(seen.fit.free))
    crossing[[1, CLOSEST]] = -1.0, 1.0
    assert crossing @ part_of(seen.fit).covariance @ crossing < WIDE**2
    (part,) = seen.parts
    assert part.passby == seen.fit.mean
    assert part.height == seen.fit.loglik + np.log(beliefs_of(seen.fit.unrest.coherence_s)[0].share)


def test_a_crossing_time_that_is_open_without_end_is_not_followed_to_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen = _seen(0.05, 2.0, 1, monkeypatch)
    # so wide a fit of a passing note once asked for a crossing time of 0
    vague = replace(seen.fit, covariance=1e8 * seen.fit.covariance)
    for part in parts_of(seen.blocks, vague, seen.priors):
        assert part.passby.closest_m / part.passby.speed_mps > 0.0
        assert np.isfinite(part.height)
