"""Coverage intervals of mixtures against general-purpose distributions and plain drawing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import lognorm, norm

from wayside.measure.assemble import as_fit
from wayside.measure.fitted import ModelFit, Share
from wayside.measure.intervals import interval
from wayside.measure.result import Track
from wayside.measure.unrest import QUIET
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

ENDS = ("low_68", "high_68", "low_95", "high_95")
SHARES = (0.16, 0.84, 0.025, 0.975)


@settings(max_examples=30, deadline=None)
@given(value=st.floats(-50.0, 50.0), u=st.floats(1e-4, 5.0))
def test_one_normal_has_the_quantiles_of_scipy(value: float, u: float) -> None:
    found = interval("x", [value], [u], [1.0], positive=False)
    for end, share in zip(ENDS, SHARES, strict=True):
        expected = norm.ppf(share, value, u)
        assert getattr(found, end) == pytest.approx(expected, abs=1e-6 * u), end


@settings(max_examples=30, deadline=None)
@given(value=st.floats(0.1, 50.0), relative=st.floats(1e-4, 0.6))
def test_a_positive_quantity_is_lognormal(value: float, relative: float) -> None:
    found = interval("x", [value], [relative * value], [1.0], positive=True)
    for end, share in zip(ENDS, SHARES, strict=True):
        expected = lognorm.ppf(share, relative, scale=value)
        assert getattr(found, end) == pytest.approx(expected, rel=1e-6), end


@settings(max_examples=20, deadline=None)
@given(
    apart=st.floats(-4.0, 4.0),
    wider=st.floats(0.3, 5.0),
    weight=st.floats(0.0, 1.0),
    seed=st.integers(0, 1000),
)
def test_a_mixture_holds_its_share_of_draws(
    apart: float, wider: float, weight: float, seed: int
) -> None:
    found = interval("x", [2.0, 2.0 + apart], [1.0, wider], [1.0 - weight, weight], positive=False)
    rng = np.random.default_rng(seed)
    second = rng.random(100_000) < weight
    drawn = rng.standard_normal(second.size) * np.where(second, wider, 1.0)
    drawn += 2.0 + apart * second
    for end, share in zip(ENDS, SHARES, strict=True):
        # five standard deviations of a share counted from so many draws
        allowed = 5.0 * math.sqrt(share * (1.0 - share) / drawn.size)
        assert np.mean(drawn < getattr(found, end)) == pytest.approx(share, abs=allowed), end


def test_wide_tails_make_one_u_hold_more_than_68_percent() -> None:
    found = interval("x", [0.0, 0.0], [1.0, 4.0], [0.85, 0.15], positive=False)
    u = math.sqrt(0.85 + 0.15 * 16.0)
    assert found.high_68 < 0.75 * u
    assert found.high_95 > 1.96 * 0.75 * u


def test_a_quantity_held_at_a_value_has_no_width() -> None:
    found = interval("x", [0.0], [0.0], [1.0], positive=False)
    assert (found.low_95, found.high_95) == (0.0, 0.0)


def test_what_the_sound_does_not_limit_has_no_end() -> None:
    assert interval("x", [3.0], [math.inf], [1.0], positive=True).high_68 == math.inf
    assert interval("x", [3.0], [math.inf], [1.0], positive=True).low_95 == 0.0


def test_intervals_of_a_fit_hold_the_speed_of_sound_too() -> None:
    p = PassBy(400.0, 6.0, 2.0, 1.0, 343.2)
    little = np.diag([0.01, 0.01, 0.01, 0.001, 0.0]) ** 2
    slope = np.array([0.0, 6.0 / 343.2, 2.0 / 343.2, 0.0, 0.0])
    parts = (Share(p, little, 0.5), Share(p.with_(speed_mps=6.6), little, 0.5))
    model = ModelFit(p.with_(speed_mps=6.3), little, "coherent", QUIET, 0.0, slope, parts)
    none = np.zeros(0)
    track = Track(none, none, none, none)
    alone = as_fit(model, Quantity(343.2, 1e-6, "m/s"), track, 0.0).likely("speed_mps")
    assert alone is not None
    # half below 6.0, half above 6.6: 68 % reaches from the 32nd percentile of one to that of other
    assert alone.low_68 == pytest.approx(6.0 + 0.01 * norm.ppf(0.32), abs=1e-4)
    assert alone.high_68 == pytest.approx(6.6 + 0.01 * norm.ppf(0.68), abs=1e-4)
    unsure = as_fit(model, Quantity(343.2, 34.32, "m/s"), track, 0.0).likely("speed_mps")
    assert unsure is not None
    assert unsure.high_95 - unsure.low_95 > 4 * (alone.high_95 - alone.low_95)


def test_a_part_that_weighs_nothing_does_not_move_the_ends_however_wide() -> None:
    alone = interval("speed_mps", [5.0], [0.5], [1.0], True)
    beside = interval("speed_mps", [5.0, 5.0], [0.5, 1e12], [1.0 - 1e-9, 1e-9], True)
    assert list(beside.ends.values()) == pytest.approx(list(alone.ends.values()))
