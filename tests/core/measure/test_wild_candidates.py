"""Whatever the search hands on, the refinement ends with a pass-by or says why not."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.benchmarks import near_bound
from tests.benchmarks.cells import Cell

from wayside.jobs import QUIET
from wayside.measure.comb import Comb
from wayside.measure.refine import LostError, Sound, refine
from wayside.measure.search import Candidate

NOISE = Sound(np.random.default_rng(1).standard_normal(8000 * 2).astype(np.float32), 8000.0, 0.0)


@settings(max_examples=25, deadline=None)
@given(
    alpha_hz=st.floats(30.0, 3500.0),
    mach=st.floats(0.003, 0.3),
    log_s=st.floats(math.log(5e-4), math.log(60.0)),
    tc=st.floats(-70.0, 70.0) | st.floats(-1.0, 3.0),
    number=st.integers(1, 4),
)
def test_no_candidate_is_too_wild(
    alpha_hz: float, mach: float, log_s: float, tc: float, number: int
) -> None:
    found = Candidate(alpha_hz, mach, math.exp(log_s), tc, 50.0, 10.0, 0)
    try:
        refined = refine(NOISE, found, Comb(number, (number,), 50.0), 343.2, QUIET)
    except LostError:
        return
    assert math.isfinite(refined.glide_gain)
    assert refined.passby.speed_mps > 0


def test_a_curve_that_explains_next_to_nothing_of_what_was_seen_is_another() -> None:
    seen = Candidate(700.0, 0.03, 0.3, 1.0, 90_000.0, 10.0, 0)
    with pytest.raises(LostError):
        refine(NOISE, seen, Comb(1, (1,), 90_000.0), 343.2, QUIET)


@pytest.mark.parametrize("seed", [0, 4, 34])
def test_a_brief_fall_of_a_loud_tone_that_stands_still_before_and_after(seed: int) -> None:
    """Long windows take it for a steady tone, and short ones make its fall look far too steep."""
    cell = Cell(250.0, 5.0, 0.5, 1, 20.0)
    outcome = near_bound.one((cell, seed))
    assert outcome.found
    # within four times the Cramér-Rao bound; it was 3 m/s off, or refused
    assert abs(outcome.errors["speed_mps"]) < 4.0 * cell.bound()["speed_mps"]
