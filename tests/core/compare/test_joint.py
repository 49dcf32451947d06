"""The joint test keeps its false-alarm rate when inputs rest on few repeats."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from wayside.compare.explain import whitener
from wayside.compare.joint import joint_test, least_dof
from wayside.hand.entry import Entry
from wayside.hand.inputs import Input
from wayside.hand.model import evaluate, linear_values
from wayside.hand.propagate import Number, covariances, uncertain
from wayside.hand.setup import Setup
from wayside.physics.limits import far_limits

RUNS = 300
SPEED, PITCH, SOUND = 9.0, 440.0, 343.2
"""Invented truth; 343.2 m/s at 20 °C is ISO 9613-1, formula A.5."""


def p_value(rng: np.random.Generator, speed: Entry, pitch: Entry, true_mps: float = SPEED) -> float:
    entries = {
        "motion.speed": speed,
        "source.pitch": pitch,
        "air.temperature": Entry(20.0 + 0.5 * rng.standard_normal(), "°C", 0.5),
    }
    setup = Setup("tone", "ideal-gas", entries)
    inputs = setup.inputs
    _, outcome = evaluate(setup, linear_values(inputs), inputs)
    truth = far_limits(PITCH, SOUND, SOUND, true_mps, 0.0)
    seen = tuple(uncertain(f + 0.1 * rng.standard_normal(), 0.1, "") for f in truth)
    return joint_test((outcome.approach, outcome.recede), seen, inputs)[1]


def repeats(rng: np.random.Generator, value: float, u: float, n: int, unit: str) -> Entry:
    return Entry(None, unit, readings=tuple(value + u * rng.standard_normal(n)))


@pytest.mark.parametrize(("speeds", "pitches"), [(2, 1), (3, 1), (5, 1), (1, 3), (3, 3)])
def test_a_sound_set_up_is_rarely_called_wrong(speeds: int, pitches: int) -> None:
    # simulation of the test's own size; at most 5 % is what "95 %" promises (JCGM 100:2008, 6.2)
    rng = np.random.default_rng(11)
    alarms = 0
    for _ in range(RUNS):
        speed = (
            repeats(rng, SPEED, 0.3, speeds, "m/s")
            if speeds > 1
            else Entry(SPEED + 0.2 * rng.standard_normal(), "m/s", 0.2)
        )
        pitch = (
            repeats(rng, PITCH, 1.5, pitches, "Hz")
            if pitches > 1
            else Entry(PITCH + 1.5 * rng.standard_normal(), "Hz", 1.5)
        )
        alarms += p_value(rng, speed, pitch) < 0.05
    assert alarms / RUNS <= 0.05


def test_a_gross_mistake_is_still_found_after_a_handful_of_repeats() -> None:
    rng = np.random.default_rng(12)
    found = [
        p_value(
            rng,
            repeats(rng, SPEED, 0.1, 6, "m/s"),
            Entry(PITCH + 0.5 * rng.standard_normal(), "Hz", 0.5),
            true_mps=1.15 * SPEED,
        )
        < 0.05
        for _ in range(50)
    ]
    assert np.mean(found) > 0.9


def test_without_repeats_it_is_the_plain_chi_square() -> None:
    # two independent standard normal misses of 1 and 2: chi-square 5, p = exp(-5/2) for two
    # degrees of freedom (closed form of the chi-square distribution)
    seen = (uncertain(11.0, 1.0, ""), uncertain(22.0, 1.0, ""))
    statistic, p = joint_test((10.0, 20.0), seen, ())
    assert statistic == pytest.approx(5.0)
    assert p == pytest.approx(np.exp(-2.5))


def repeated_and_plain(
    u_few: float, u_rest: float
) -> tuple[Number, tuple[Input, ...], float, float, float]:
    """One miss made of a pitch read three times and of a part known without repeats.

    Returns the miss, the inputs, the uncertainty and degrees of freedom of the repeated part,
    and the uncertainty of the rest.
    """
    step = u_few * np.sqrt(3)  # readings -s, 0, s have the mean's uncertainty s/sqrt(3)
    entries = {
        "motion.speed": Entry(9.0, "m/s", 0.1),
        "source.pitch": Entry(None, "Hz", readings=(440.0 - step, 440.0, 440.0 + step)),
        "air.temperature": Entry(20.0, "°C", 0.5),
    }
    inputs = Setup("tone", "ideal-gas", entries).inputs
    pitch = linear_values(inputs)["source.pitch"]
    return uncertain(440.0, u_rest, "rest") - pitch, inputs, u_few, 2.0, u_rest


def raised(share: float, dof: float) -> float:
    """One-sided 95 % bound of a share of variance, by scipy's chi-square quantile."""
    return float(share * dof / stats.chi2.ppf(0.05, dof))


@pytest.mark.parametrize(("u_few", "u_rest"), [(3.0, 4.0), (4.0, 3.0), (0.5, 5.0)])
def test_one_pitch_has_the_degrees_of_freedom_of_its_bound(u_few: float, u_rest: float) -> None:
    """JCGM 100:2008, G.4.1, with the share of the few repeats raised to its bound."""
    miss, inputs, u, dof, rest = repeated_and_plain(u_few, u_rest)
    share = u**2 / (u**2 + rest**2)
    most = raised(share, dof)
    expected = dof * ((1.0 + most - share) / most) ** 2
    white = whitener(covariances((miss,)))
    assert least_dof(white, [miss], inputs) == pytest.approx(expected, rel=1e-6)
    statistic, p = joint_test((0.0,), (miss,), inputs)
    assert p == pytest.approx(stats.f.sf(statistic, 1, expected), rel=1e-6)


@pytest.mark.parametrize("other", [0.3, -0.3, 0.9, -2.0])
def test_of_two_pitches_the_worst_combination_counts(other: float) -> None:
    # brute force over directions; written out anew
    few, inputs, u, dof, rest = repeated_and_plain(3.0, 2.0)
    misses = [few, other * few + uncertain(0.0, 4.0, "other")]
    white = whitener(covariances(misses))
    share_of = white @ np.array([-1.0, -other]) * u
    best = np.inf
    for angle in np.linspace(0.0, np.pi, 2001):
        share = float((share_of @ [np.cos(angle), np.sin(angle)]) ** 2)
        most = raised(share, dof)
        if most > 0:
            best = min(best, dof * ((1.0 + most - share) / most) ** 2)
    assert least_dof(white, misses, inputs) == pytest.approx(best, rel=2e-3)
    assert rest < u


def test_a_repeated_entry_that_does_not_count_changes_nothing() -> None:
    _, inputs, *_ = repeated_and_plain(3.0, 4.0)
    alone = uncertain(1.0, 1.0, "alone")
    assert least_dof(whitener(covariances((alone,))), [alone], inputs) == np.inf
