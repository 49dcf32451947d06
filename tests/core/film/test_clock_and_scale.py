"""Sound against picture, slow motion, and the scale in the picture."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from wayside.errors import InputError
from wayside.film.clock import (
    UNKNOWN_LINK,
    check_passing,
    link_from_clap,
    sound_travel,
    when_heard,
    when_seen,
)
from wayside.film.geometry import Point, scale_from_length
from wayside.film.retime import retiming, suspicions
from wayside.film.times import FrameTimes
from wayside.quantity import Quantity

C = Quantity(343.0, 0.5, "m/s")


def _table(seconds: np.ndarray) -> FrameTimes:
    ticks = np.round(seconds * 90_000).astype(np.int64)
    return FrameTimes(ticks, Fraction(1, 90_000), np.ones(len(ticks), dtype=bool))


def test_unknown_offset_covers_what_broadcasting_accepts() -> None:
    """Mean square of a uniform error from -185 to +90 ms (ITU-R BT.1359-1), integrated here."""
    grid = np.linspace(-0.185, 0.090, 200_001)
    assert UNKNOWN_LINK.offset.u == pytest.approx(math.sqrt((grid**2).mean()), rel=1e-4)


def test_travel_time_of_sound() -> None:
    travel = sound_travel(Quantity(34.3, 0.1, "m"), C)
    assert travel.value == pytest.approx(0.1)
    assert travel.u == pytest.approx(math.hypot(0.1 / 343, 0.1 * 0.5 / 343))


def test_a_clap_sets_the_clock_and_covers() -> None:
    rng = np.random.default_rng(0)
    z = []
    for _ in range(500):
        lag, r = rng.uniform(-0.1, 0.2), rng.uniform(1, 20)
        clap = rng.uniform(1, 2)
        step = 1 / 30
        before = math.floor(clap / step) * step
        seen = Quantity(before + step / 2, step / math.sqrt(12), "s")
        heard = Quantity(clap + r / 343.0 + lag + rng.normal(0, 0.001), 0.001, "s")
        link = link_from_clap(seen, heard, Quantity(r + rng.normal(0, 0.05), 0.05, "m"), C)
        z.append((link.offset.value - lag) / link.offset.u)
    assert math.sqrt((np.array(z) ** 2).mean()) == pytest.approx(1.0, abs=0.1)


def test_heard_and_seen_are_inverse() -> None:
    link = link_from_clap(
        Quantity(1.0, 0.01, "s"), Quantity(1.05, 0.001, "s"), Quantity(0, 0, "m"), C
    )
    heard = when_heard(Quantity(2.0, 0.0, "s"), Quantity(0.0, 0.0, "m"), C, link)
    assert when_seen(heard, link).value == pytest.approx(2.0)


def test_agreement_of_film_and_sound() -> None:
    film = Quantity(3.00, 0.01, "s")
    close = check_passing(film, Quantity(3.10, 0.005, "s"))
    assert abs(close.normalized_error) < 1
    assert "agree" in close.sentence
    far = check_passing(film, Quantity(3.50, 0.005, "s"))
    assert far.normalized_error < -1
    assert "earlier" in far.sentence


def test_a_scale_holds_its_length() -> None:
    scale = scale_from_length(Quantity(2.0, 0.01, "m"), Point(0, 0), Point(300, 400))
    length = scale.length(Point(10, 10), Point(310, 410))
    assert length.value == pytest.approx(2.0)
    assert length.u > scale.metres_per_px.u * 500 * 0.99
    assert "plane" in scale.caution


@pytest.mark.parametrize(("metres", "px"), [(0.0, 100.0), (-1.0, 100.0), (1.0, 2.0)])
def test_impossible_scales(metres: float, px: float) -> None:
    with pytest.raises(InputError):
        scale_from_length(Quantity(metres, 0.0, "m"), Point(0, 0), Point(px, 0))


def test_a_plain_film_raises_no_suspicion() -> None:
    rng = np.random.default_rng(0)
    t = np.arange(300) / 30 + rng.normal(0, 0.002, 300)
    assert suspicions(_table(t), 10.0) == ()


def test_slow_motion_is_noticed() -> None:
    plain = _table(np.arange(300) / 30)
    kinds = lambda *args: {s.kind for s in suspicions(*args)}  # noqa: E731
    assert kinds(_table(np.arange(2400) / 240), 10.0) == {"fast"}
    assert kinds(plain, 10.0, 240.0) == {"stated"}
    assert kinds(plain, 1.25) == {"lengths"}
    assert kinds(plain, None) == set()
    steps = np.concatenate([np.full(100, 1 / 240), np.full(150, 1 / 30), np.full(100, 1 / 240)])
    ramp = _table(np.concatenate(([0.0], np.cumsum(steps))))
    assert "ramp" in kinds(ramp, None)


def test_true_rate_gives_true_seconds() -> None:
    """240 a second shown at 30: eight film seconds are one true second."""
    keep = np.ones(300, dtype=bool)
    keep[[50, 51, 120]] = False
    times = _table((np.arange(300) / 30)[keep])
    clip = retiming(times, 240.0, 0.002)
    assert clip.factor == pytest.approx(8.0, rel=1e-4)
    true = clip.true_interval(Quantity(4.0, 0.08, "s"))
    assert true.value == pytest.approx(0.5, rel=1e-4)
    assert true.u == pytest.approx(math.hypot(0.01, 0.001), rel=1e-3)


@pytest.mark.parametrize("rate", [0.0, -30.0, math.nan, math.inf, 1e9])
def test_impossible_rates(rate: float) -> None:
    with pytest.raises(InputError):
        retiming(_table(np.arange(30) / 30), rate)
