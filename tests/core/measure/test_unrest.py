"""Unrest of the phase: covariance against integrals, likelihood against plain matrix algebra."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.special import kv
from tests.core.measure.recordings import HUM, options

from wayside.measure.pipeline import measure
from wayside.measure.unrest import (
    LinearData,
    Unrest,
    covariance_of,
    least_squares,
    mean_speed,
    way_covariance,
)
from wayside.measure.unrestsize import estimate
from wayside.simulate.render import render
from wayside.simulate.scene import Background, Scene, Source
from wayside.sound.recording import Recording

GAP = 0.05
WALK = Unrest(walk=2e-3)
WOBBLE = Unrest(wobble_hz=0.4, wobble_s=0.6)
SWAY = Unrest(sway=0.05, sway_s=0.15)
ECHO = Unrest(echo=0.05, echo_span=0.25)
JITTER = Unrest(jitter=0.02**2 * GAP)
WAVER = Unrest(waver=0.01, waver_s=0.8)
WEAVE = Unrest(weave_m=0.03, weave_s=0.5)


def _data(n: int = 60, noise: float = 1e-5, seed: int = 1, start_s: float = 3.0) -> LinearData:
    """A straight line and a bend through noise, with one piece of prior knowledge."""
    rng = np.random.default_rng(seed)
    t = start_s + GAP * np.arange(n)
    s = (t - t.mean()) / (t[-1] - t[0])
    design = np.column_stack([s, np.tanh(6 * s), np.ones(n)])
    return LinearData(
        times_s=t,
        cycles=math.sqrt(noise) * rng.standard_normal(n),
        noise=np.full(n, noise),
        design=design,
        prior_rows=np.array([[0.0, 1.0, 0.0]]),
        prior_values=np.array([0.02]),
        prior_u=np.array([0.3]),
        since_s=t - t.mean(),
        lever=20.0 * np.tanh(4 * s),
        aside=-3.0 / np.sqrt(1.0 + (4.0 * s) ** 2),
        nearness=1.0 / np.sqrt(1.0 + (6.0 * s) ** 2),
        reach_s=0.7,
        speed_columns=(1,),
        tied=False,
    )


def _drawn(data: LinearData, unrest: Unrest, seed: int) -> LinearData:
    rng = np.random.default_rng(seed)
    v = covariance_of(data, unrest)
    return replace(data, cycles=np.linalg.cholesky(v) @ rng.standard_normal(data.times_s.size))


def test_a_walk_is_averaged_over_its_block() -> None:
    # mean over block i times mean over block j of a walk with covariance walk * min(s, t)
    data = _data(6)
    v = covariance_of(data, WALK)
    for i, j in ((0, 0), (2, 2), (1, 4), (5, 3)):
        ends = [(k * GAP, (k + 1) * GAP) for k in (i, j)]
        grid = [np.linspace(*e, 401)[:-1] + GAP / 800 for e in ends]
        expected = WALK.walk * np.mean(np.minimum(grid[0][:, None], grid[1][None, :]))
        assert v[i, j] - (i == j) * data.noise[i] == pytest.approx(expected, rel=2e-3), (i, j)


@pytest.mark.parametrize(("i", "j"), [(0, 0), (3, 3), (1, 5)])
def test_a_wobble_is_the_double_integral_of_its_frequency(i: int, j: int) -> None:
    data = _data(6)

    def frequencies(s: float, t: float) -> float:
        return WOBBLE.wobble_hz**2 * math.exp(-abs(s - t) / WOBBLE.wobble_s)

    since = GAP * (np.arange(6) + 0.5)
    expected, _ = dblquad(frequencies, 0.0, since[i], 0.0, since[j], epsabs=1e-12)
    found = covariance_of(data, WOBBLE)[i, j] - (i == j) * data.noise[i]
    assert found == pytest.approx(expected, rel=1e-4)


def test_a_sway_fades_with_the_lag() -> None:
    data = _data(6)
    v = covariance_of(data, SWAY)
    assert v[1, 4] == pytest.approx(0.05**2 * _matern(3 * GAP / 0.15), rel=1e-6)
    assert v[2, 2] == pytest.approx(0.05**2 + data.noise[2])


def _matern(lag: float, order: float = 2.5) -> float:
    """Matérn correlation by its definition with a Bessel function."""
    x = math.sqrt(2.0 * order) * lag
    return 2.0 ** (1 - order) / math.gamma(order) * x**order * float(kv(order, x))


def test_an_echo_goes_with_the_place() -> None:
    data = _data(60)
    v = covariance_of(data, ECHO) - np.diag(data.noise)
    # as near before the passing as after it: the same path difference, the same error
    assert v[9, 50] == pytest.approx(0.05**2)
    apart = abs(data.nearness[9] - data.nearness[30])
    assert v[9, 30] == pytest.approx(0.05**2 * _matern(apart / 0.25), rel=1e-6)


def test_a_waver_acts_through_the_place_got_to() -> None:
    data = _data(6)
    v = covariance_of(data, WAVER) - np.diag(data.noise)
    way = way_covariance(data.since_s, data.since_s, WAVER)
    assert v[1, 4] == pytest.approx(data.lever[1] * data.lever[4] * way[1, 4])


def test_a_weave_acts_across_the_track() -> None:
    data = _data(60)
    v = covariance_of(data, WEAVE) - np.diag(data.noise)
    for i, j in ((9, 30), (28, 33), (40, 40)):
        lag = abs(data.since_s[i] - data.since_s[j]) / WEAVE.weave_s
        shared = _matern(lag, 3.5) if lag else 1.0
        expected = WEAVE.weave_m**2 * data.aside[i] * data.aside[j] * shared
        assert v[i, j] == pytest.approx(expected, rel=1e-6), (i, j)


def test_independent_causes_add() -> None:
    data = _data(12)
    everything = replace(WALK, wobble_hz=0.4, wobble_s=0.6, sway=0.05, sway_s=0.15)
    parts = sum(covariance_of(data, u) - np.diag(data.noise) for u in (WALK, WOBBLE, SWAY))
    assert covariance_of(data, everything) == pytest.approx(parts + np.diag(data.noise))


@pytest.mark.parametrize("unrest", [Unrest(), WALK, WOBBLE, SWAY, WAVER, ECHO, JITTER])
def test_least_squares_is_plain_matrix_algebra(unrest: Unrest) -> None:
    """Generalised least squares and the restricted likelihood written out with inverses."""
    data = _drawn(_data(40), WALK, 5)
    fit = least_squares(data, unrest)
    v = covariance_of(data, unrest) if unrest.any else np.diag(data.noise)
    weight = np.linalg.inv(v)
    prior = data.prior_rows / data.prior_u[:, None]
    normal = data.design.T @ weight @ data.design + prior.T @ prior
    right = data.design.T @ weight @ data.cycles + prior.T @ (data.prior_values / data.prior_u)
    step = np.linalg.solve(normal, right)
    assert fit.step == pytest.approx(step, rel=1e-6)
    assert fit.covariance == pytest.approx(np.linalg.inv(normal), rel=1e-6)
    rest = data.cycles - data.design @ step
    pulled = (data.prior_values - data.prior_rows @ step) / data.prior_u
    minus_twice = (
        rest @ weight @ rest
        + pulled @ pulled
        + np.linalg.slogdet(v)[1]
        + 2.0 * np.sum(np.log(data.prior_u))
        + np.linalg.slogdet(normal)[1]
    )
    assert fit.loglik == pytest.approx(-0.5 * minus_twice, rel=1e-9)


def test_coherence_time_is_the_decay_of_the_phase_memory() -> None:
    # a normal phase of variance walk t gives E exp(2 pi i phase) = exp(-2 pi^2 walk t)
    rng = np.random.default_rng(3)
    walk, t = 0.02, 1.5
    memory = np.mean(np.exp(2j * np.pi * math.sqrt(walk * t) * rng.standard_normal(400_000)))
    assert Unrest(walk=walk).coherence_s == pytest.approx(-t / math.log(abs(memory)), rel=0.01)
    assert Unrest().coherence_s == math.inf


def test_what_is_on() -> None:
    assert not Unrest().any
    assert all(u.any for u in (WALK, WOBBLE, SWAY, WAVER, ECHO, JITTER))
    assert all(u.lasting for u in (WALK, WOBBLE, SWAY, WAVER, ECHO))
    assert not JITTER.lasting


def test_a_quiet_phase_asks_for_no_unrest() -> None:
    found = [estimate(_data(40, seed=seed)).any for seed in range(8)]
    assert sum(found) <= 1


def test_a_walk_is_found_in_its_size() -> None:
    found = [estimate(_drawn(_data(60), WALK, seed)) for seed in range(5)]
    assert all(u.any for u in found)
    sizes = [u.walk for u in found if u.walk > 0]
    assert len(sizes) >= 4
    assert np.median(sizes) == pytest.approx(WALK.walk, rel=0.4)


def test_a_wobble_of_the_frequency_is_told_from_a_walk() -> None:
    found = [estimate(_drawn(_data(70), WOBBLE, seed)) for seed in range(5)]
    sizes = [u.wobble_hz for u in found if u.wobble_hz > 0]
    assert len(sizes) >= 4
    assert np.median(sizes) == pytest.approx(WOBBLE.wobble_hz, rel=0.5)


def test_a_pattern_s_frequency_is_its_speed_and_does_not_wobble_by_itself() -> None:
    data = replace(_drawn(_data(50), WOBBLE, 1), tied=True)
    assert estimate(data).wobble_hz == 0


def test_a_bounded_sway_is_found() -> None:
    found = [estimate(_drawn(_data(70), SWAY, seed)) for seed in range(5)]
    sizes = [u.sway for u in found if u.sway > 0]
    assert len(sizes) >= 4
    assert np.median(sizes) == pytest.approx(SWAY.sway, rel=0.4)


def test_a_jitter_is_another_in_every_block_and_found_in_its_size() -> None:
    data = _data(6)
    assert covariance_of(data, JITTER) == pytest.approx(np.diag(data.noise + 0.02**2))
    found = [estimate(_drawn(_data(70), JITTER, seed)) for seed in range(5)]
    sizes = [u.jitter for u in found if u.jitter > 0]
    assert len(sizes) >= 4
    assert all(u.walk * GAP < 0.1 * 0.02**2 for u in found)
    assert np.median(sizes) == pytest.approx(JITTER.jitter, rel=0.3)


def test_from_a_start_only_its_components_are_adjusted() -> None:
    data = _drawn(_data(80), WALK, 2)
    found = estimate(data, Unrest(walk=1e-5))
    assert found.walk == pytest.approx(WALK.walk, rel=0.7)
    assert (found.wobble_hz, found.sway, found.waver, found.echo) == (0.0, 0.0, 0.0, 0.0)
    assert estimate(data, Unrest()) == Unrest()


def test_correlation_times_keep_their_least() -> None:
    # a walk looks like a wobble that fades at once, and a vehicle is no faster than 0.3 s
    data = _drawn(_data(80), WALK, 4)
    assert estimate(data, Unrest(wobble_hz=0.1, wobble_s=0.2)).wobble_s >= 0.15
    assert estimate(data, Unrest(waver=0.01, waver_s=0.4)).waver_s >= 0.3


def test_the_mean_speed_is_the_best_guess_given_all_phases() -> None:
    """The same by Bayes: parameters with a very wide prior and the waver as one normal vector."""
    data = _drawn(_data(30, noise=1e-4), WAVER, 7)
    fit = least_squares(data, WAVER)
    mean = mean_speed(data, WAVER, fit)
    m = data.design.shape[1]
    wide = np.diag(np.full(m, 100.0))
    # what is sought: the parameters, and the way gained between the two ends over their distance
    ends = np.array([-data.reach_s, data.reach_s])
    shared = data.lever * np.diff(way_covariance(ends, data.since_s, WAVER), axis=0)[0]
    shared /= 2.0 * data.reach_s
    own = way_covariance(ends, ends, WAVER)
    variance = (own[0, 0] + own[1, 1] - 2.0 * own[0, 1]) / (2.0 * data.reach_s) ** 2
    sought = np.zeros((m + 1, m + 1))
    sought[:m, :m], sought[m, m] = wide, variance
    observed = np.vstack([data.design, data.prior_rows])
    cross = np.zeros((m + 1, observed.shape[0]))
    cross[:m] = wide @ observed.T
    cross[m, : data.times_s.size] = shared
    spread = observed @ wide @ observed.T
    n = data.times_s.size
    spread[:n, :n] += covariance_of(data, WAVER)
    spread[n, n] += data.prior_u[0] ** 2
    gain = cross @ np.linalg.inv(spread)
    guess = gain @ np.concatenate([data.cycles, data.prior_values])
    left = sought - gain @ cross.T
    assert mean.ahead == pytest.approx(guess[m], rel=1e-4)
    together = np.eye(m, m + 1)
    together[1, m] = 1.0
    assert mean.covariance == pytest.approx(together @ left @ together.T, rel=1e-3, abs=1e-5)


@pytest.mark.parametrize("change", [{"speed_columns": ()}, {}])
def test_without_a_waver_or_a_speed_nothing_is_ahead(change: dict[str, tuple[int, ...]]) -> None:
    data = replace(_data(30), **change)
    unrest = WAVER if change else WALK
    fit = least_squares(data, unrest)
    mean = mean_speed(data, unrest, fit)
    assert mean.ahead == 0.0
    assert mean.covariance is fit.covariance


@pytest.mark.parametrize(
    ("name", "time", "usual", "spread", "unrest"),
    [
        ("wobble_hz", "wobble_s", 0.5, 0.8, WOBBLE),
        ("waver", "waver_s", 1.0, 0.6, WAVER),
        ("sway", "sway_s", 0.15, 0.8, SWAY),
        ("echo", "echo_span", 0.3, 0.8, ECHO),
    ],
)
def test_correlation_times_are_held_near_the_usual(
    name: str, time: str, usual: float, spread: float, unrest: Unrest
) -> None:
    # the likelihood times a lognormal density of the correlation time, its top found by a grid;
    # few phases, so that the density counts
    data = _drawn(_data(14), unrest, 3)
    found = estimate(data, unrest)

    def value(trial: Unrest) -> float:
        off = math.log(getattr(trial, time) / usual) / spread
        return least_squares(data, trial).loglik - 0.5 * off**2

    sizes = getattr(found, name) * np.exp(np.linspace(-1.0, 1.0, 11))
    times = getattr(found, time) * np.exp(np.linspace(-1.2, 1.2, 13))
    grid = [
        value(Unrest(**{name: float(s), time: float(t)}))
        for s in sizes
        for t in times
        if t > 0.3 or time in ("sway_s", "echo_span") or (time == "wobble_s" and t > 0.15)
    ]
    assert value(found) > max(grid) - 0.15


def test_two_causes_are_let_in_one_by_one() -> None:
    both = replace(WALK, walk=5e-4, sway=0.05, sway_s=0.1)
    found = [estimate(_drawn(_data(90), both, seed)) for seed in range(4)]
    assert sum(u.sway > 0 for u in found) >= 3
    assert sum(u.walk + u.wobble_hz + u.jitter > 0 for u in found) >= 3
    # a cause that is let in is not let in again
    assert all(u.any for u in found)


def test_blocks_are_short_enough_for_the_walk_of_the_harmonics() -> None:
    """Long blocks damp the walk; the coherence times found must scatter about the true one."""
    ratios = []
    for seed in range(4):
        source = Source(HUM, (1.0, 0.7, 0.5), coherence_s=0.1)
        scene = Scene((source,), 6.0, 16_000.0, background=Background(20.0))
        recording = Recording.from_array(render(scene, seed)[:, 0], 16_000.0)
        fit = measure(recording, options(source_kind="wheel"), others=False).fit
        if fit is not None:
            ratios.append(fit.coherence_time_s / 0.1)
    assert len(ratios) >= 3
    assert np.exp(np.mean(np.log(ratios))) == pytest.approx(1.0, abs=0.15)
