"""The pitches a recording yields: their correlation, what is taken from where, what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import uncertainties

from wayside.compare.compare import difference_dof
from wayside.compare.heard import (
    Heard,
    heard_by_ear,
    heard_in,
    measured_results,
    pitch_correlation,
)
from wayside.errors import InputError
from wayside.hand.inputs import Input
from wayside.hand.model import evaluate, linear_values
from wayside.hand.setup import Setup
from wayside.hand.setup_json import setup_from_json
from wayside.measure.result import Measurement
from wayside.quantity import Quantity

Make = Callable[..., Measurement]
APPROACH, RECEDE = Quantity(452.0, 0.3, "Hz"), Quantity(428.0, 0.5, "Hz")
CLOSEST, PASSING = Quantity(2.0, 0.1, "m"), Quantity(4.0, 0.01, "s")


@pytest.mark.parametrize("r", [-0.9, -0.3, 0.0, 0.5, 0.99])
def test_the_correlation_is_found_again_from_the_harmonic_mean(r: float) -> None:
    # oracle: the harmonic mean propagated by the uncertainties library
    cov = [[0.3**2, r * 0.3 * 0.5], [r * 0.3 * 0.5, 0.5**2]]
    a, b = uncertainties.correlated_values([452.0, 428.0], cov)
    mean = 2 * a * b / (a + b)
    source = Quantity(mean.nominal_value, mean.std_dev, "Hz")
    assert pitch_correlation(APPROACH, RECEDE, source) == pytest.approx(r, abs=1e-6)


def test_an_impossible_harmonic_mean_gives_the_nearest_correlation() -> None:
    assert pitch_correlation(APPROACH, RECEDE, Quantity(440.0, 9.0, "Hz")) == pytest.approx(0.9999)
    assert pitch_correlation(APPROACH, RECEDE, Quantity(440.0, 0.0, "Hz")) == pytest.approx(-0.9999)


@pytest.mark.parametrize("which", [0, 1, 2])
@pytest.mark.parametrize("u", [math.inf, math.nan])
def test_unknown_uncertainties_are_not_correlated(which: int, u: float) -> None:
    parts = [APPROACH, RECEDE, Quantity(440.0, 0.3, "Hz")]
    parts[which] = Quantity(parts[which].value, u, "Hz")
    assert pitch_correlation(*parts) == 0.0


def test_exact_pitches_are_not_correlated() -> None:
    exact = Quantity(452.0, 0.0, "Hz")
    assert pitch_correlation(exact, RECEDE, Quantity(440.0, 0.3, "Hz")) == 0.0


def test_the_covariance_is_made_of_both_uncertainties_and_the_correlation() -> None:
    heard = Heard(APPROACH, RECEDE, 0.4, None, None, "fit")
    assert heard.covariance == pytest.approx(np.array([[0.09, 0.06], [0.06, 0.25]]))


def test_a_harmonic_is_brought_down_with_its_uncertainty() -> None:
    low = Heard(APPROACH, RECEDE, 0.4, CLOSEST, PASSING, "fit").on_fundamental(2)
    assert (low.approach_hz.value, low.approach_hz.u) == (226.0, 0.15)
    assert (low.recede_hz.value, low.recede_hz.u) == (214.0, 0.25)
    assert (low.closest_m, low.correlation) == (CLOSEST, 0.4)


def test_pitches_by_ear_are_independent() -> None:
    heard = heard_by_ear(APPROACH, RECEDE)
    assert (heard.approach_hz, heard.recede_hz, heard.correlation) == (APPROACH, RECEDE, 0.0)
    # an uncertainty below one and a pitch below one are still above zero
    heard_by_ear(Quantity(0.9, 0.1, "Hz"), Quantity(0.8, 0.1, "Hz"))


@pytest.mark.parametrize("value", [0.0, -3.0, math.nan, math.inf])
def test_no_pitch_by_ear(value: float) -> None:
    with pytest.raises(InputError, match="approach pitch"):
        heard_by_ear(Quantity(value, 0.3, "Hz"), RECEDE)


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan, math.inf])
def test_no_uncertainty_by_ear(u: float) -> None:
    with pytest.raises(InputError, match="recede pitch"):
        heard_by_ear(APPROACH, Quantity(428.0, u, "Hz"))


@pytest.mark.parametrize("approach", [428.0, 420.0])
def test_the_wrong_way_round_by_ear(approach: float) -> None:
    with pytest.raises(InputError, match="swap"):
        heard_by_ear(Quantity(approach, 0.3, "Hz"), RECEDE)


def test_the_fit_of_the_sources_own_kind_is_taken(heard: Make) -> None:
    found = heard(452.0, 428.0)
    assert found.fit is not None
    other = replace(found.fit, source_model="speed-tied", approach_hz=Quantity(460.0, 0.3, "Hz"))
    both = replace(found, alternatives=(other,))
    assert heard_in(both).approach_hz.value == 452.0
    assert heard_in(both, "fixed").approach_hz.value == 452.0
    assert heard_in(both, "speed-tied").approach_hz.value == 460.0
    assert heard_in(found, "speed-tied").approach_hz.value == 452.0


def _results(setup: Setup, heard: Heard) -> dict[str, Any]:
    inputs = setup.inputs
    given, _ = evaluate(setup, linear_values(inputs), inputs)
    return measured_results(heard, setup.kind, given)


def test_treads_per_metre_are_a_wheels(wheel: Setup, tone: Setup) -> None:
    heard = Heard(APPROACH, RECEDE, 0.0, CLOSEST, PASSING, "fit")
    assert "cycles_per_metre" in _results(wheel, heard)
    results = _results(tone, heard)
    assert "cycles_per_metre" not in results
    assert {"closest_m", "passing_time_s", "speed_mps", "shift_up_hz"} <= set(results)


def test_one_pitch_gives_no_speed_but_itself(tone: Setup) -> None:
    for lost in (Quantity(428.0, math.inf, "Hz"), Quantity(math.nan, 0.5, "Hz")):
        results = _results(tone, Heard(APPROACH, lost, 0.0, None, PASSING, "fit"))
        assert set(results) == {"sound_speed_mps", "approach_hz", "passing_time_s"}


def test_with_both_moving_distance_and_clock_are_nobodys() -> None:
    data = {
        "format": "wayside-setup",
        "version": 1,
        "motion": {"speed": {"value": 9.0, "unit": "m/s", "u": 0.15}},
        "source": {
            "kind": "both-moving",
            "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8},
            "observer_speed": {"value": 3.0, "unit": "m/s", "u": 0.1},
        },
        "air": {"formula": "ideal-gas", "temperature": {"value": 20, "unit": "°C", "u": 0.5}},
    }
    heard = Heard(APPROACH, RECEDE, 0.0, CLOSEST, PASSING, "fit")
    results = _results(setup_from_json(data), heard)
    assert "speed_mps" in results
    assert not {"closest_m", "passing_time_s"} & set(results)


def test_degrees_of_freedom_of_a_difference() -> None:
    """JCGM 100:2008, G.4.1 (Welch-Satterthwaite), written out for two contributions."""
    from tests.core.compare.test_joint import repeated_and_plain

    difference, inputs, u_few, dof_few, u_rest = repeated_and_plain(3.0, 4.0)
    total = math.hypot(u_few, u_rest)
    assert difference_dof(difference, inputs) == pytest.approx(total**4 / (u_few**4 / dof_few))
    plain: tuple[Input, ...] = ()
    assert difference_dof(difference, plain) == math.inf


def test_a_source_on_a_circle_is_not_turned_into_a_speed() -> None:
    data = {
        "format": "wayside-setup",
        "version": 1,
        "source": {
            "kind": "whirled",
            "pitch": {"value": 440.0, "unit": "Hz", "u": 0.8},
            "circle_radius": {"value": 0.9, "unit": "m", "u": 0.01},
            "turns": {"value": 10},
            "turns_time": {"value": 6.4, "unit": "s", "u": 0.1},
            "listener_distance": {"value": 5, "unit": "m", "u": 0.1},
        },
        "air": {"formula": "ideal-gas", "temperature": {"value": 20, "unit": "°C", "u": 0.5}},
    }
    results = _results(setup_from_json(data), Heard(APPROACH, RECEDE, 0.0, None, None, "by ear"))
    assert set(results) == {"sound_speed_mps", "approach_hz", "recede_hz"}
