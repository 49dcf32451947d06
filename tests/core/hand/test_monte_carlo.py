"""Sampling beside linear propagation: where they agree, where they must differ."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from wayside.errors import Cancelled
from wayside.hand.entry import Component, Entry
from wayside.hand.monte_carlo import (
    draw_component,
    histogram,
    monte_carlo,
    shortest_interval,
)
from wayside.hand.predict import predict
from wayside.hand.setup_json import setup_from_json
from wayside.jobs import Job


@pytest.mark.parametrize("shape", ["normal", "rectangular", "triangular"])
def test_draws_have_the_stated_spread(shape: str) -> None:
    draws = draw_component(Component("stated", 0.7, shape), 200_000, np.random.default_rng(2))
    assert np.mean(draws) == pytest.approx(0.0, abs=0.01)
    assert np.std(draws) == pytest.approx(0.7, rel=0.01)


def test_repeats_are_drawn_with_wide_tails() -> None:
    entry = Entry(None, "s", readings=(1.0, 1.1, 1.3, 0.9, 1.05, 1.2))
    (part,) = entry.components
    draws = draw_component(part, 400_000, np.random.default_rng(2))
    # Student's t with 5 degrees of freedom has the standard deviation sqrt(5/3)
    assert np.std(draws) == pytest.approx(part.u * np.sqrt(5 / 3), rel=0.02)


def test_the_same_seed_gives_the_same_draws(wheel_data: dict[str, Any]) -> None:
    p = predict(setup_from_json(wheel_data))
    one, two, other = (monte_carlo(p, 5000, seed) for seed in (1, 1, 2))
    assert one == two
    assert one != other


def test_curved_formula_is_reported(wheel_data: dict[str, Any]) -> None:
    wheel_data["motion"]["second_time"] = {"value": 4.2, "unit": "s", "u": 0.25}
    p = predict(setup_from_json(wheel_data))
    m = monte_carlo(p)
    assert not m.results["speed_mps"].agrees
    assert any("differ" in note and "speed" in note for note in m.notes)
    # 1/t with a quarter relative spread has a long upper tail
    s = m.results["speed_mps"]
    assert s.high - s.mean > s.mean - s.low


def test_narrow_bell_shapes_agree(tone_data: dict[str, Any]) -> None:
    m = monte_carlo(predict(setup_from_json(tone_data)))
    assert m.results["approach_hz"].agrees
    assert m.results["speed_mps"].agrees
    assert m.dropped == 0


def test_impossible_draws_are_counted_not_hidden(wheel_data: dict[str, Any]) -> None:
    wheel_data["motion"]["second_time"] = {"value": 4.2, "unit": "s", "u": 0.45}
    m = monte_carlo(predict(setup_from_json(wheel_data)), 50_000)
    assert m.dropped > 100
    assert m.draws + m.dropped == 50_000
    assert any("made no physical sense" in note for note in m.notes)


def test_shortest_interval_of_a_lopsided_distribution() -> None:
    draws = np.random.default_rng(4).exponential(size=400_000)
    low, high = shortest_interval(draws)
    assert low == pytest.approx(0.0, abs=0.01)
    assert high == pytest.approx(-np.log(0.05), rel=0.02)


def test_sampling_stops_when_asked(wheel_data: dict[str, Any]) -> None:
    p = predict(setup_from_json(wheel_data))
    with pytest.raises(Cancelled):
        monte_carlo(p, job=Job(cancelled=lambda: True))


def test_the_histogram_has_the_area_of_what_it_covers() -> None:
    draws = np.random.default_rng(3).normal(5.0, 2.0, 200_000)
    edges, density = histogram(draws)
    widths = np.diff(edges)
    assert float(np.sum(widths * density)) == pytest.approx(0.998, abs=1e-3)
    # height of the normal curve at its middle, 1/(u sqrt(2 pi))
    assert max(density) == pytest.approx(1 / (2 * np.sqrt(2 * np.pi)), rel=0.05)
    assert histogram(np.full(10, 3.0)) == ((), ())
    # so near each other that a density would be beyond all numbers
    assert histogram(np.linspace(0.0, 3e-308, 1000)) == ((), ())
