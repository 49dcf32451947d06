"""How riders and wheels are weighed, on envelopes drawn from the model itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.core.measure.recordings import HUM
from tests.core.measure.test_bicycle import COASTING, TIMES, TRUE, _blocks

from wayside.jobs import QUIET
from wayside.measure.riding import ride_of
from wayside.measure.twowheels import Bicycle, Hum
from wayside.measure.wheelclimb import climb
from wayside.measure.wheelweigh import MOST_RATIO, _elsewhere, keeps_its_phase, others, weigh


def _rider(bicycle: Bicycle, waver: float) -> Hum:
    ride = ride_of(HUM, float(TIMES[0]), float(TIMES[-1]), 1.0)
    return Hum(_blocks(3, bicycle), COASTING, 2, ride=ride, waver=waver)


def test_tyres_of_different_makes_leave_no_summit_elsewhere() -> None:
    apart = replace(TRUE, ratio=2.0 * MOST_RATIO)
    rider = _rider(apart, 0.004)
    top = climb(rider, apart, QUIET)
    assert abs(top.bicycle.ratio) > MOST_RATIO
    assert _elsewhere((rider, top), [top], 1.0, QUIET) == []


def test_summits_elsewhere_differ_from_each_other_the_highest_first() -> None:
    rider = _rider(TRUE, 0.004)
    found = _elsewhere((rider, climb(rider, TRUE, QUIET)), [], 0.5, QUIET)
    values = [top.value for top in found]
    assert values == sorted(values, reverse=True)
    assert len({round(top.bicycle.passby.speed_mps, 6) for top in found}) == len(found)


def test_what_it_takes_to_keep_a_phase_is_the_crossing_time() -> None:
    crossing = HUM.closest_m / HUM.speed_mps
    assert keeps_its_phase(replace(TRUE, coherence=math.log(1.1 * crossing)))
    assert not keeps_its_phase(replace(TRUE, coherence=math.log(0.9 * crossing)))


@pytest.mark.parametrize("share", [0.2, 0.5, 1.0])
def test_the_height_at_another_share_is_that_of_its_part(share: float) -> None:
    hum = Hum(_blocks(2, TRUE), COASTING, 2)
    top = climb(hum, TRUE, QUIET, share)
    # a summit knows how high its part is; asked from another summit it is the same but for
    # how little the two lie apart
    assert top.height_of(hum, share) == pytest.approx(top.part().height, abs=1e-6)
    whole = climb(hum, TRUE, QUIET)
    assert whole.height_of(hum, share) == pytest.approx(top.part().height, abs=2.0)


def test_a_steady_rider_is_not_taken_for_one_who_wavers() -> None:
    both = Hum(_blocks(1, TRUE), COASTING, 2)
    held = replace(both, coherence=(TRUE.coherence, 0.05))
    alone = replace(held, wheels=1)
    tops = others([climb(held, TRUE, QUIET)])
    weighed = weigh(alone, climb(alone, TRUE, QUIET), held, tops, True, QUIET)
    assert not weighed.wavers
    width = math.sqrt(weighed.two.covariance[1, 1])
    off = math.log(weighed.two.passby.speed_mps / HUM.speed_mps)
    assert abs(off) < 3.0 * width
    assert np.isfinite(weighed.height)
