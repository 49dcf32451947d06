"""The start of a wheel's fit whose slowing down passed for a fast, distant passing.

The recordings are the project's own rendering (self-consistency).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.benchmarks.coverage import one

from wayside.measure.demod import Blocks
from wayside.measure.motion import phase_model
from wayside.measure.phasefit import Priors
from wayside.measure.staging import RIDER
from wayside.measure.wheelstart import as_ridden, ridden
from wayside.physics.passby import PassBy

TIMES = np.arange(0.0125, 8.0, 0.025)
RIDERS = Priors(acceleration_mps2=RIDER.coasting_mps2, weak=True)


def _blocks(p: PassBy) -> Blocks:
    """Blocks of a source that passes as `p` does, along `p` itself."""
    model = phase_model(p, TIMES)
    size, noise = model.spread[None, :] + 0j, np.array([1e-4])
    return Blocks(TIMES, size, noise, np.array([1]), p, 0.025, model.cycles)


@pytest.mark.parametrize("seed", [0, 711])
def test_a_slow_wheel_that_coasts_is_measured(seed: int) -> None:
    # 3 to 4 m/s, slowing down: the nearest curve of fixed pitch calls for 90 to 110 m/s
    _, out = one(("hums, any recording", seed))
    assert out.found, out.reason
    for name in ("speed_mps", "source_hz", "closest_m", "passing_time_s"):
        assert abs(out.errors[name]) < 3.0 * out.us[name], name


@given(st.floats(2.5, 8.0), st.floats(1.0, 5.0), st.floats(-0.15, 0.0))
def test_the_pitch_of_the_start_is_the_one_heard(v: float, d: float, a: float) -> None:
    truth = PassBy(400.0, v, d, 4.0, 343.2, a, True)
    start = as_ridden(_blocks(truth), truth, RIDERS)
    assert ridden(start)
    # no cycle may be lost from one block to the next
    off = start.pitch(TIMES) - truth.pitch(TIMES)
    assert np.max(np.abs(off)) * 0.025 < 0.25


def test_who_rides() -> None:
    assert ridden(PassBy(400.0, 12.0, 8.0, 1.0))
    assert ridden(PassBy(400.0, 50.0, 3.0, 1.0))
    assert not ridden(PassBy(400.0, 90.0, 900.0, 1.0))
    assert not ridden(PassBy(400.0, 5.0, 60.0, 1.0))
