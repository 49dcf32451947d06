"""The uncertainty budget against a general-purpose uncertainty library and published tables."""

from __future__ import annotations

import math
import warnings
from typing import Any

import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from metrolopy import gummy

from wayside.hand.budget import coverage_factor
from wayside.hand.entry import effective_dof
from wayside.hand.predict import predict
from wayside.hand.setup_json import setup_from_json
from wayside.plan.criteria import NOTICEABLE

DATA: dict[str, Any] = {
    "format": "wayside-setup",
    "version": 1,
    "motion": {
        "marker_distance": {"value": 12.0, "unit": "m", "u": 0.03},
        "first_time": {"readings": [3.21, 3.19, 3.20, 3.22, 3.18], "unit": "s"},
        "second_time": {"value": 5.05, "unit": "s", "half_width": 0.02},
    },
    "source": {
        "kind": "wheel",
        "count": {"value": 62},
        "nominal_diameter": {"value": 26, "unit": "in", "u": 0.1},
        "squash": {"value": 0.4, "unit": "in", "u": 0.12},
    },
    "air": {
        "formula": "ideal-gas",
        "temperature": {"value": 61, "unit": "°F", "u": 1},
        "wind_along": {"value": 1.5, "unit": "m/s", "u": 0.4},
    },
}


def test_every_result_agrees_with_metrolopy() -> None:
    """metrolopy 1.x as oracle: same formulas, independent propagation with correlations."""
    p = predict(setup_from_json(DATA))
    inputs = {i.path: i for i in p.setup.inputs}

    def g(path: str) -> Any:
        i = inputs[path]
        return gummy(i.value, u=i.u, dof=i.dof if math.isfinite(i.dof) else float("inf"))

    distance, first, second = (
        g(f"motion.{key}") for key in ("marker_distance", "first_time", "second_time")
    )
    speed = distance / (second - first)
    radius = g("source.nominal_diameter") / 2 - g("source.squash")
    source = speed * 62 / (2 * math.pi * radius)
    sound = 343.2 * ((g("air.temperature") + 273.15) / 293.15) ** 0.5 + g("air.formula_error")
    wind = g("air.wind_along")
    approach = source * (sound + wind) / (sound + wind - speed)
    recede = source * (sound - wind) / (sound - wind + speed)
    for name, oracle in (
        ("speed_mps", speed),
        ("source_hz", source),
        ("sound_speed_mps", sound),
        ("approach_hz", approach),
        ("recede_hz", recede),
        ("shift_up_hz", approach - source),
        ("shift_down_hz", source - recede),
    ):
        ours = getattr(p, name)
        assert ours.value == pytest.approx(float(oracle.x), rel=1e-9), name
        assert ours.u == pytest.approx(float(oracle.u), rel=1e-6), name
        assert p.dof[name] == pytest.approx(float(oracle.dof), rel=1e-3) or oracle.dof > 1e4, name


def test_effective_degrees_of_freedom_of_the_end_gauge() -> None:
    """JCGM 100:2008, H.1 (read second-hand): u 32 nm, 16 effective degrees of freedom.

    Contributions 25 nm (18), 9.7 nm (25.6, pooled from 5.8, 3.9 and 6.7), 2.9 nm (50),
    16.6 nm (2); the list is from memory, the combination recomputed.
    """
    parts = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)]
    assert math.hypot(*(u for u, _ in parts)) == pytest.approx(32, abs=0.6)
    assert effective_dof(parts) == pytest.approx(16, abs=1.0)


@pytest.mark.parametrize(
    ("dof", "k"), [(1, 12.71), (2, 4.30), (4, 2.78), (10, 2.23), (16, 2.12), (50, 2.01)]
)
def test_coverage_factor(dof: int, k: float) -> None:
    """JCGM 100:2008, table G.2, 95 % column."""
    assert coverage_factor(dof) == pytest.approx(k, abs=0.006)
    assert coverage_factor(math.inf) == pytest.approx(1.960, abs=0.0005)


def test_just_noticeable_difference() -> None:
    """OpenStax College Physics, 17.6 (read): about 0.3 %."""
    assert pytest.approx(0.003) == NOTICEABLE
