"""Odd runs are flagged, and seldom where there is none."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.review.runs import measured

from wayside.quantity import Quantity
from wayside.review.outliers import FALSE_FLAG, odd_runs
from wayside.review.pool import pool
from wayside.review.row import run_row
from wayside.review.together import Together, pool_measured


def _together(values: list[float], u: float = 0.05, shared: float = 0.0) -> Together:
    quantities = tuple(Quantity(x, math.hypot(u, shared), "m/s") for x in values)
    parts = {"air": (shared,) * len(values)} if shared else {}
    names = tuple(f"run {i + 1}" for i in range(len(values)))
    return Together("speed_mps", names, quantities, parts, pool(quantities, parts), False)


def test_a_run_far_from_the_others_is_flagged_with_the_reason() -> None:
    rows = [
        run_row(f"run {i}", measured(speed_mps=v)) for i, v in enumerate((6, 6.02, 5.99, 6.01, 7))
    ]
    together = pool_measured(rows, "speed_mps")
    assert together is not None
    got = odd_runs(together)
    assert [f.name for f in got.flags] == ["run 4"]
    assert "speed lies" in got.sentence
    assert "above" in got.sentence
    assert "other 4 runs" in got.sentence


@pytest.mark.parametrize("n", [1, 2, 3])
def test_few_runs_cannot_tell(n: int) -> None:
    got = odd_runs(_together([6.0, 6.0, 9.0][:n]))
    assert got.flags == ()
    assert "cannot be told" in got.sentence


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(5.95, 6.05), min_size=4, max_size=9), st.floats(0, 1))
def test_a_shared_error_flags_nobody(values: list[float], shared: float) -> None:
    assert odd_runs(_together(values, shared=shared)).flags == odd_runs(_together(values)).flags


@pytest.mark.parametrize("scatter", [0.0, 0.05, 0.5])
def test_false_flags_are_as_rare_as_stated(scatter: float) -> None:
    rng = np.random.default_rng(3)
    runs = 400
    flagged = 0
    for _ in range(runs):
        u = 0.05
        values = 6.0 + math.hypot(scatter, u) * rng.standard_normal(6)
        flagged += bool(odd_runs(_together(list(values), u)).flags)
    assert flagged / runs < FALSE_FLAG + 3 * math.sqrt(FALSE_FLAG * (1 - FALSE_FLAG) / runs)
