"""Pairs out and back: by name where names tell, else in the order of the runs."""

from __future__ import annotations

from dataclasses import replace

from tests.invented import TRUTH, measurement_of

from wayside.measure.options import MeasureOptions
from wayside.review.in_order import pairs_in_order
from wayside.review.row import BACK, OUT, RunRow, failed_row, run_row


def _row(name: str, group: str, direction: str, source_hz: float = 412.0) -> RunRow:
    truth = replace(TRUTH, source_hz=source_hz)
    m = measurement_of(truth, MeasureOptions())
    return run_row(name, m, group=group, direction=direction)


def _names(rows: list[RunRow]) -> list[tuple[str, str]]:
    return [(p.out, p.back) for p in pairs_in_order(rows)]


def test_what_names_tell_comes_first_and_the_rest_in_order() -> None:
    rows = [
        _row("third", "A", OUT),
        _row("lane-out", "A", OUT),
        _row("fourth", "A", BACK),
        _row("lane-back", "A", BACK),
        _row("fifth", "A", OUT),
    ]
    assert _names(rows) == [("lane-out", "lane-back"), ("third", "fourth")]


def test_groups_are_not_mixed_and_a_run_without_a_way_is_left_out() -> None:
    rows = [_row("1", "A", OUT), _row("2", "B", BACK), _row("3", "A", ""), _row("4", "B", OUT)]
    assert _names(rows) == [("4", "2")]


def test_what_failed_has_no_pair() -> None:
    rows = [failed_row("1", "It cannot be read.", direction=OUT), _row("2", "", BACK)]
    assert _names(rows) == []


def test_a_pair_no_wind_explains_says_so() -> None:
    (pair,) = pairs_in_order([_row("1", "", OUT), _row("2", "", BACK, 500.0)])
    assert pair.wind is None
    assert "more than wind can explain" in pair.sentence
