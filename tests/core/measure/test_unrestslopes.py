"""The likelihood's slopes against differences of the likelihood itself (self-consistency).

The likelihood is checked against plain matrix algebra in `test_unrest.py`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.measure.test_unrest import (
    ECHO,
    JITTER,
    SWAY,
    WALK,
    WAVER,
    WEAVE,
    WOBBLE,
    _data,
    _drawn,
)

from wayside.measure.unrest import QUIET, Unrest, least_squares
from wayside.measure.unrestsize import LEAST, MOST, _adjusted, _names, cost_of, estimate
from wayside.measure.unrestslopes import likelihood_and_slopes

COMPONENTS = {
    "walk": WALK,
    "wobble": WOBBLE,
    "sway": SWAY,
    "echo": ECHO,
    "jitter": JITTER,
    "waver": WAVER,
    "weave": WEAVE,
}


def _merged(kinds: set[str]) -> Unrest:
    on = {
        name: value
        for kind in kinds
        for name, value in vars(COMPONENTS[kind]).items()
        if value != getattr(QUIET, name)
    }
    return replace(QUIET, **on)


@settings(max_examples=30, deadline=None)
@given(
    kinds=st.sets(st.sampled_from(sorted(COMPONENTS)), min_size=1, max_size=3),
    scale=st.floats(0.3, 3.0),
    seed=st.integers(0, 2**20),
)
def test_slopes_are_those_of_the_likelihood(kinds: set[str], scale: float, seed: int) -> None:
    unrest = _merged(kinds)
    data = _drawn(_data(), unrest, seed)
    names = _names(data, unrest)
    start = replace(unrest, **{n: scale * getattr(unrest, n) for n in names})
    value, slopes = likelihood_and_slopes(data, start, names)
    assert value == pytest.approx(least_squares(data, start).loglik, rel=1e-9, abs=1e-6)
    for name, slope in zip(names, slopes, strict=True):
        step = 1e-4
        ends = [
            least_squares(
                data, replace(start, **{name: getattr(start, name) * math.exp(sign * step)})
            ).loglik
            for sign in (1.0, -1.0)
        ]
        difference = (ends[0] - ends[1]) / (2.0 * step)
        assert slope == pytest.approx(difference, rel=1e-3, abs=0.02), name


@settings(max_examples=12, deadline=None)
@given(kind=st.sampled_from(sorted(COMPONENTS)), seed=st.integers(0, 2**20))
def test_the_climb_ends_on_a_summit_within_bounds(kind: str, seed: int) -> None:
    unrest = COMPONENTS[kind]
    data = _drawn(_data(), unrest, seed)
    names = _names(data, unrest)
    start = replace(unrest, **{n: 1.7 * getattr(unrest, n) for n in names})
    found = _adjusted(data, start)

    def height(one: Unrest) -> float:
        return least_squares(data, one).loglik - cost_of(one)

    assert height(found) >= height(start)
    for name in names:
        for factor in (0.9, 1.1):
            other = replace(found, **{name: factor * getattr(found, name)})
            inside = LEAST.get(name, 0.0) <= getattr(other, name) <= MOST.get(name, np.inf)
            assert not inside or height(other) < height(found) + 0.02, name


def test_nothing_is_let_in_that_is_not_there() -> None:
    assert estimate(_data(seed=3)) == QUIET
