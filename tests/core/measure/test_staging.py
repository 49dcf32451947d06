"""A rider's habits are a guide to riders only.

The recordings are made by `tests.benchmarks.vehicles`, apart from the program's own simulator.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.benchmarks.vehicles import recorded

from wayside.jobs import QUIET
from wayside.measure import models
from wayside.measure.fitted import Choice, ModelFit
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import Priors
from wayside.measure.pipeline import measure
from wayside.measure.refine import Refined, Sound, blocks_of
from wayside.measure.staging import CLEAR_NATS, RIDER, VEHICLE, Usual, usual_of
from wayside.measure.unrest import Unrest
from wayside.physics.passby import PassBy

LOUD = 10.0 * CLEAR_NATS
SILENCE = Sound(np.zeros(32_000, np.float32), 8000.0, 0.0)
RIDDEN = Refined(PassBy(300.0, 6.0, 2.0, 2.0), (1, 2, 3), LOUD, LOUD, False, 0.1)


@given(st.floats(1.0, 12.0), st.floats(0.5, 8.0))
def test_no_rider_is_taken_for_a_vehicle(speed_mps: float, closest_m: float) -> None:
    assert usual_of(PassBy(300.0, speed_mps, closest_m, 2.0), LOUD) is RIDER


def test_a_vehicle_is_told_by_a_fast_and_brief_passing_heard_clearly() -> None:
    car = PassBy(300.0, 30.0, 8.0, 2.0)
    assert usual_of(car, LOUD) is VEHICLE
    assert usual_of(car, 0.5 * CLEAR_NATS) is RIDER
    # a slow wheel whose slowing passes for a passing: 100 m/s at a kilometre
    assert usual_of(PassBy(300.0, 100.0, 1000.0, 2.0), LOUD) is RIDER
    assert usual_of(PassBy(300.0, 16.0, 35.0, 2.0), LOUD) is RIDER


@pytest.mark.parametrize("usual", [RIDER, VEHICLE])
def test_what_is_usual_pulls_as_its_spread_says(usual) -> None:  # type: ignore[no-untyped-def]
    p = PassBy(300.0, 50.0, 10.0, 2.0)
    _, values, u = Priors(weak=True, usual=usual).rows(p, (0, 1, 2, 3))
    pull = sorted(values / u)
    wanted = sorted(
        [
            math.log(usual.closest_m / 10.0) / usual.closest_spread,
            math.log(usual.speed_mps / 50.0) / usual.speed_spread,
        ]
    )
    assert pull == pytest.approx(wanted)
    # 50 m/s is no surprise of a vehicle, and out of the question for a rider
    assert (max(abs(x) for x in pull) < 1.0) == (usual is VEHICLE)


@pytest.mark.parametrize("seed", [2, 17])
def test_a_racing_engine_is_not_drawn_to_a_rider_s_speed(seed: int) -> None:
    """One was given 10.6 instead of 68.7 m/s; the other, at 55, was refused."""
    recording, truth = recorded("racing engine", seed)
    found = measure(recording, MeasureOptions(), others=False)
    assert found.fit is not None
    speed = found.fit.speed_mps
    assert abs(speed.value - truth.speed_mps) < 3.0 * speed.u
    assert speed.u < 0.02 * truth.speed_mps


@pytest.mark.parametrize(("passes_s", "fits"), [(2.0, 2), (60.0, 1), (-60.0, 1)])
def test_a_vehicle_is_looked_for_only_about_a_passing_that_is_heard(
    passes_s: float, fits: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # the fit of one that was first seen as a rider came out fast, within the recording or not
    fast = PassBy(300.0, 30.0, 8.0, passes_s)
    fit = ModelFit(fast, np.eye(5) * 1e-6, "incoherent", Unrest(walk=0.1), 0.0, np.zeros(5))
    choice = Choice((fit,), None, fit, blocks_of(SILENCE, RIDDEN.passby, (1,), 0.05))
    asked: list[Usual] = []

    def once(_s: object, _r: object, _k: object, priors: Priors, _j: object) -> Choice:
        asked.append(priors.usual)
        return choice

    monkeypatch.setattr(models, "_fit_models", once)
    assert models._fit_kind(SILENCE, RIDDEN, "unknown", Priors(), QUIET) is choice
    assert asked == [RIDER, VEHICLE][:fits]
