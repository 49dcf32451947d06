"""Pooling: invariances, shared causes, true intervals, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.intervals import assert_true
from tests.core.review.runs import buzzer, measured, refused

from wayside.compare.compare import compare
from wayside.errors import InputError
from wayside.hand.entry import Entry
from wayside.quantity import Quantity
from wayside.review.pool import pool
from wayside.review.row import RunRow, run_row
from wayside.review.together import pool_differences, pool_measured

# the set-up's air, 20 °C at 50 % humidity, over the 343.2 m/s the runs were measured with; 343.985
# with 420 ppm CO2 (Cramer 1993, recomputed)
SOUND_RATIO = 343.985 / 343.2

VALUES = st.lists(st.tuples(st.floats(-50, 50), st.floats(0.01, 5.0)), min_size=2, max_size=9)


def _quantities(pairs: list[tuple[float, float]], scale: float = 1.0) -> list[Quantity]:
    return [Quantity(scale * x, abs(scale) * u, "m/s") for x, u in pairs]


@settings(max_examples=60, deadline=None)
@given(VALUES, st.randoms())
def test_the_order_of_runs_does_not_matter(
    pairs: list[tuple[float, float]], random: object
) -> None:
    shuffled = list(pairs)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = pool(_quantities(pairs)), pool(_quantities(shuffled))
    assert other.mean.value == pytest.approx(one.mean.value, rel=1e-9, abs=1e-9)
    assert other.mean.u == pytest.approx(one.mean.u, rel=1e-9)
    assert other.chi_square == pytest.approx(one.chi_square, rel=1e-9, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(VALUES, st.floats(1e-6, 1e6))
def test_another_unit_scales_everything(pairs: list[tuple[float, float]], scale: float) -> None:
    one, other = pool(_quantities(pairs)), pool(_quantities(pairs, scale))
    assert other.mean.value == pytest.approx(scale * one.mean.value, rel=1e-7, abs=1e-7 * scale)
    assert other.mean.u == pytest.approx(scale * one.mean.u, rel=1e-7)
    assert other.scatter == pytest.approx(scale * one.scatter, rel=1e-6, abs=1e-6 * scale)
    assert other.p_value == pytest.approx(one.p_value, rel=1e-6, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(VALUES)
def test_the_mean_lies_among_the_runs(pairs: list[tuple[float, float]]) -> None:
    got = pool(_quantities(pairs))
    xs = [x for x, _ in pairs]
    assert min(xs) - 1e-9 <= got.mean.value <= max(xs) + 1e-9
    assert sum(got.weights) == pytest.approx(1.0)
    assert got.scatter <= got.scatter_high or got.scatter_high == 0.0
    # Mandel and Paule: with the scatter put in, the weighted squares are as many as expected
    if got.scatter > 0:
        w = [1 / (u * u + got.scatter**2) for _, u in pairs]
        total = sum(a * (x - got.mean.value) ** 2 for a, x in zip(w, xs, strict=True))
        assert total == pytest.approx(len(pairs) - 1, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(4, 8), min_size=2, max_size=9), st.floats(0.01, 0.3))
def test_a_shared_part_is_not_averaged_away(xs: list[float], part: float) -> None:
    n = len(xs)
    values = [Quantity(x, math.hypot(0.05, part), "m/s") for x in xs]
    got = pool(values, {"thermometer": [part] * n})
    alone = pool([Quantity(x, 0.05, "m/s") for x in xs])
    assert got.shared_u == pytest.approx(part)
    assert got.mean.u >= part
    assert got.mean.value == pytest.approx(alone.mean.value)
    assert got.mean.u == pytest.approx(math.hypot(alone.mean.u, part))
    # the runs are judged by their own uncertainties
    assert got.chi_square == pytest.approx(alone.chi_square, rel=1e-6, abs=1e-9)


def test_a_shared_relative_error_does_not_draw_the_mean_down() -> None:
    # Peelle's puzzle, 1.5 and 1.0, 10 % own and 20 % shared: weighting with the whole covariance
    # gives 0.88, below both (D'Agostini, Nucl. Instrum. Meth. A 346 (1994) 306)
    values = [Quantity(x, x * math.hypot(0.1, 0.2), "") for x in (1.5, 1.0)]
    got = pool(values, {"scale": [0.3, 0.2]})
    assert 1.0 < got.mean.value < 1.5
    assert got.shared_u == pytest.approx(0.2 * got.mean.value, rel=1e-6)


@pytest.mark.parametrize("tau", [0.0, 0.4, 3.0])
@pytest.mark.parametrize("n", [4, 10])
def test_intervals_hold_the_truth(tau: float, n: int) -> None:
    rng = np.random.default_rng(7)
    held, scores = 0, []
    for _ in range(400):
        u = 0.1 * 4.0 ** rng.uniform(-0.5, 0.5, n)
        shared = 0.05 * rng.standard_normal()
        x = 6.0 + tau * 0.1 * rng.standard_normal(n) + u * rng.standard_normal(n) + shared
        got = pool(
            [Quantity(a, math.hypot(b, 0.05), "") for a, b in zip(x, u, strict=True)],
            {"air": [0.05] * n},
        )
        held += got.low <= 6.0 <= got.high
        scores.append((got.mean.value - 6.0) / got.mean.u)
    # 95 %, less four standard deviations of the count, and a little for scatter that hides
    assert held / 400 > 0.95 - 4 * math.sqrt(0.95 * 0.05 / 400) - 0.01
    if tau == 0.0:
        assert held / 400 < 0.995
    if n == 10 and tau == 0.0:
        # a scatter estimated where there is none makes the statement a little cautious
        assert np.std(scores) < 1.1
    if n == 10 and tau == 3.0:
        # Student's law with about nine degrees of freedom, made normal
        assert_true(np.array(scores) * math.sqrt(7 / 9), "mean with scatter")


@pytest.mark.parametrize(
    "values",
    [
        [],
        [Quantity(1.0, 0.0, "m/s")],
        [Quantity(math.nan, 0.1, "m/s")],
        [Quantity(1.0, math.inf, "m/s")],
        [Quantity(1.0, 0.1, "m/s"), Quantity(500.0, 0.1, "Hz")],
    ],
)
def test_what_cannot_be_pooled_is_refused(values: list[Quantity]) -> None:
    with pytest.raises(InputError):
        pool(values)


def test_one_run_is_its_own_mean() -> None:
    got = pool([Quantity(6.0, 0.1, "m/s")])
    assert (got.mean.value, got.mean.u) == (6.0, pytest.approx(0.1))
    assert math.isnan(got.p_value)
    assert got.consistent


def _rows(speeds: list[float]) -> list[RunRow]:
    return [
        run_row(f"run {i}", m, comparison=compare(buzzer(), m))
        for i, m in enumerate(measured(speed_mps=v) for v in speeds)
    ]


def test_the_thermometer_is_shared_by_measured_speeds() -> None:
    rows = _rows([6.0, 6.02, 5.99, 6.01])
    got = pool_measured(rows, "speed_mps")
    assert got is not None
    sound = rows[0].sound_speed_mps
    assert sound is not None
    assert got.pooled.shared_u == pytest.approx(got.pooled.mean.value * sound.relative_u, rel=1e-9)
    assert "4 runs" in got.sentence
    assert "agree" in got.sentence


def test_hand_measurements_are_shared_by_differences() -> None:
    rows = _rows([6.1, 6.12, 6.09, 6.11])
    got = pool_differences(rows, "speed_mps")
    assert got is not None
    # the speed by hand, known to 0.1 m/s, is the same in every set-up and stays
    assert abs(got.pooled.shared["motion.speed"]) == pytest.approx(0.1)
    assert got.pooled.mean.u > 0.1
    assert got.pooled.mean.value == pytest.approx(6.105 * SOUND_RATIO - 6.0, abs=0.003)
    assert got.pooled.consistent


def test_what_differs_from_run_to_run_is_each_runs_own() -> None:
    rows = []
    for i, v in enumerate([6.0, 6.2, 5.9, 6.1]):
        setup = buzzer()
        entry = setup.entries["motion.speed"]
        entries = {**setup.entries, "motion.speed": replace(entry, value=v)}
        own = replace(setup, entries=entries)
        assert isinstance(entry, Entry)
        m = measured(speed_mps=v)
        rows.append(run_row(f"run {i}", m, comparison=compare(own, m)))
    got = pool_differences(rows, "speed_mps")
    assert got is not None
    assert "motion.speed" not in got.pooled.shared
    assert got.pooled.mean.u < 0.1


def test_parts_and_the_runs_own_make_up_the_difference() -> None:
    (row,) = _rows([6.3])
    for name in ("speed_mps", "source_hz", "approach_hz"):
        d = row.sides(name).difference
        assert d is not None
        by_hand = math.hypot(*(p.contribution for p in row.parts[name]))
        assert by_hand <= d.u * (1 + 1e-9)
        m = row.sides(name).measured
        assert m is not None
        assert d.u <= math.hypot(by_hand, m.u) * (1 + 1e-9)


def test_refused_runs_are_left_out() -> None:
    rows = [*_rows([6.0, 6.1]), run_row("wind", refused())]
    got = pool_measured(rows, "speed_mps")
    assert got is not None
    assert got.names == ("run 0", "run 1")
    assert pool_measured([run_row("wind", refused())], "speed_mps") is None
    assert pool_differences([run_row("alone", measured())], "speed_mps") is None
