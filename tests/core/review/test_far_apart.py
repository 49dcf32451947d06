"""Intervals between far pitches: cents by their definition, uncertainties by their derivative."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.invented import TRUTH, measurement_of

from wayside.compare.compare import compare
from wayside.hand.entry import Entry
from wayside.hand.setup import Setup
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside.review.far_apart import interval, run_from_hand, run_from_run

SETUP = Setup(
    "tone",
    "rule-of-thumb",
    {
        "motion.marker_distance": Entry(6.1, "m", 0.02),
        "motion.first_time": Entry(3.75, "s", 0.01),
        "motion.second_time": Entry(4.413, "s", 0.01),
        "source.pitch": Entry(412.0, "Hz", 0.5),
        "air.temperature": Entry(20.0, "°C", 0.5),
    },
)


def _measured(source_hz: float = 412.0) -> Measurement:
    return measurement_of(replace(TRUTH, source_hz=source_hz), MeasureOptions())


@pytest.mark.parametrize(("ratio", "cents"), [(2.0, 1200.0), (1.0, 0.0), (2 ** (1 / 12), 100.0)])
def test_octave_unison_and_semitone(ratio: float, cents: float) -> None:
    """Definition: 1200 log2 of the ratio; an octave 1200, an equal semitone 100."""
    found = interval(Quantity(440.0 * ratio, 0.1, "Hz"), Quantity(440.0, 0.1, "Hz"))
    assert found is not None
    assert found.value == pytest.approx(cents, abs=1e-9)


def test_its_uncertainty_against_sampling() -> None:
    rng = np.random.default_rng(5)
    a, b = Quantity(452.0, 1.5, "Hz"), Quantity(449.0, 0.8, "Hz")
    draws = 1200.0 * np.log2(rng.normal(a.value, a.u, 200_000) / rng.normal(b.value, b.u, 200_000))
    found = interval(a, b)
    assert found is not None
    assert found.u == pytest.approx(float(np.std(draws)), rel=0.02)


def test_a_run_over_itself_and_over_a_higher_one() -> None:
    apart = run_from_run(_measured(), _measured(412.0 * 2 ** (-10 / 1200)))
    for side in (apart.approach, apart.recede):
        assert side is not None
        assert side.value == pytest.approx(10.0, abs=1e-6)
    same = run_from_run(_measured(), _measured())
    assert same.approach is not None
    assert same.approach.value == 0.0


def test_a_run_over_its_prediction_is_the_comparison_in_cents() -> None:
    comparison = compare(SETUP, _measured(420.0))
    apart = run_from_hand(comparison)
    for name, side in (("approach_hz", apart.approach), ("recede_hz", apart.recede)):
        row = comparison.row(name)
        assert row is not None
        assert side is not None
        assert side.value == pytest.approx(
            1200 * math.log2(row.measured.value / row.predicted.value)
        )
        assert side.value / side.u == pytest.approx(
            row.difference.value / row.difference.u, rel=0.02
        )


@pytest.mark.parametrize("odd", [Quantity(0.0, 1.0, "Hz"), Quantity(440.0, math.inf, "Hz")])
def test_where_a_side_is_silent_there_is_no_interval(odd: Quantity) -> None:
    assert interval(odd, Quantity(440.0, 1.0, "Hz")) is None
    assert interval(Quantity(440.0, 1.0, "Hz"), odd) is None


def test_without_a_glide_there_is_none() -> None:
    none = replace(_measured(), found=False, fit=None)
    apart = run_from_run(none, _measured())
    assert apart.approach is None
    assert apart.recede is None
