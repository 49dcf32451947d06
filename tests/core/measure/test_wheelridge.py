"""The ridge along the speed of a rider who wavers, on envelopes drawn from the model itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.measure.recordings import HUM
from tests.core.measure.test_bicycle import COASTING, TIMES, TRUE, _blocks

from wayside.jobs import QUIET
from wayside.measure.breadth import APART, WINDOW
from wayside.measure.mixture import Part, mixed, steps_between, weights_of
from wayside.measure.phasefit import ALL, Priors
from wayside.measure.riding import ride_of
from wayside.measure.twowheels import Hum
from wayside.measure.wheelclimb import Summit, climb
from wayside.measure.wheelridge import ALONG, SPEED, UPON, _filled, along_speed

SHARE = 1.0
# keeps its phase for so long that its speed is told to less than the width of a window
LASTING = replace(TRUE, coherence=math.log(3.0))


@pytest.fixture(scope="module")
def rider() -> tuple[Hum, Summit]:
    """A rider who may waver by 0.1 %, and the summit beside the truth."""
    ride = ride_of(HUM, float(TIMES[0]), float(TIMES[-1]), 1.0)
    hum = Hum(_blocks(3, LASTING), COASTING, 1, ride=ride, waver=0.001)
    return hum, climb(hum, LASTING, QUIET, SHARE)


@given(st.floats(-0.5, 0.5))
def test_windows_side_by_side_add_up_to_an_even_weight(at: float) -> None:
    centres = APART * ALONG * np.arange(-20, 21)
    total = np.sum(np.exp(-0.5 * ((at - centres) / (WINDOW * ALONG)) ** 2))
    assert math.log(total) == pytest.approx(UPON, abs=0.02)


@given(st.floats(3.0, 9.0), st.floats(0.01, 0.5))
def test_a_window_holds_the_speed_as_far_as_it_says(speed: float, relative: float) -> None:
    known = Priors(speed_mps=(speed, relative * speed))
    rows, values, u = known.rows(HUM, ALL)
    at = ALL.index(SPEED)
    assert rows.shape[0] == 1
    assert rows[0, at] == 1.0
    assert np.count_nonzero(rows) == 1
    assert values[0] == pytest.approx(math.log(speed / HUM.speed_mps))
    assert u[0] == pytest.approx(relative)


def test_the_ridge_is_as_heavy_and_as_wide_as_a_summit_that_stands_alone(
    rider: tuple[Hum, Summit],
) -> None:
    # one tyre's envelopes have one smooth summit: cut along the speed it is the same again
    hum, top = rider
    parts, whole = along_speed(hum, [top], SHARE, QUIET), top.part()
    assert len(parts) > 3
    ridge = mixed(parts, ALL)
    assert ridge.height == pytest.approx(whole.height, abs=0.7)
    off = steps_between(whole.passby, ridge.passby, ALL)
    spread = np.sqrt(np.diag(whole.covariance))
    assert np.all(np.abs(off) < 0.7 * spread)
    assert np.sqrt(np.diag(ridge.covariance)) == pytest.approx(spread, rel=0.4)


def test_what_passes_at_another_time_is_taken_to_be_as_broad(rider: tuple[Hum, Summit]) -> None:
    hum, top = rider
    p = top.bicycle.passby
    later = p.with_(passing_time_s=p.passing_time_s + 2.0 * p.closest_m / p.speed_mps)
    other = replace(top, bicycle=replace(top.bicycle, passby=later), value=top.value - 1.0)
    alone, parts = (along_speed(hum, found, SHARE, QUIET) for found in ([top], [top, other]))
    assert len(parts) == len(alone) + 1
    assert parts[-1].passby == later
    assert parts[-1].covariance == pytest.approx(mixed(alone, ALL).covariance)
    # as likely beside the whole ridge as its summit is beside the ridge's summit
    assert weights_of(parts)[-1] == pytest.approx(1.0 / (1.0 + math.e), abs=0.02)


def test_what_lies_on_the_ridge_is_not_counted_twice(rider: tuple[Hum, Summit]) -> None:
    hum, top = rider
    on_it = replace(top, value=top.value - 0.5)
    found = along_speed(hum, [top, on_it], SHARE, QUIET)
    assert len(found) == len(along_speed(hum, [top], SHARE, QUIET))


@given(st.lists(st.floats(0.001, 0.05), min_size=2, max_size=8))
def test_narrow_summits_leave_no_gaps_between_them(widths: list[float]) -> None:
    parts = []
    for number, width in enumerate(widths):
        by = math.exp(number * APART * ALONG)
        p = HUM.with_(speed_mps=by * HUM.speed_mps, closest_m=by * HUM.closest_m)
        parts.append(Part(p, np.diag(np.full(5, width**2)), 0.0))
    filled = _filled(parts)
    least = APART * ALONG / math.sqrt(12.0)
    for before, after in zip(parts, filled, strict=True):
        sd = math.sqrt(after.covariance[SPEED, SPEED])
        assert sd == pytest.approx(max(least, math.sqrt(before.covariance[SPEED, SPEED])))
        assert np.all(np.linalg.eigvalsh(after.covariance) > 0)


def test_a_summit_as_wide_as_a_window_stays_whole(rider: tuple[Hum, Summit]) -> None:
    hum, _ = rider
    wide = climb(hum, LASTING, QUIET, 0.1)
    assert wide.part().covariance[SPEED, SPEED] > ALONG**2
    (part,) = along_speed(hum, [wide], 0.1, QUIET)
    assert part.passby == wide.bicycle.passby
    assert part.height == wide.part().height
