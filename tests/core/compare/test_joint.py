"""The joint test keeps its false-alarm rate when inputs rest on few repeats."""

from __future__ import annotations

import numpy as np
import pytest

from wayside.compare.joint import joint_test
from wayside.hand.entry import Entry
from wayside.hand.model import evaluate, linear_values
from wayside.hand.propagate import uncertain
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
