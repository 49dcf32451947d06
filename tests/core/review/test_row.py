"""One run as one row."""

from __future__ import annotations

import pytest
from tests.core.review.runs import buzzer, measured, refused

from wayside.compare.compare import compare
from wayside.hand.predict import predict
from wayside.review.row import COMPARED, FAILED, MEASURED, REFUSED, WAITING, failed_row, run_row


def test_a_recording_alone_fills_the_measured_side() -> None:
    m = measured()
    row = run_row("first.wav", m, group="B", direction="out")
    assert (row.outcome, row.group, row.direction) == (MEASURED, "B", "out")
    assert m.fit is not None
    assert all(row.sides(name).measured == getattr(m.fit, name) for name in COMPARED)
    assert all(row.sides(name).predicted is None for name in COMPARED)
    assert (row.overall, row.verdict, row.overall_words) == ("", "", "")
    assert row.sound_speed_mps == m.sound_speed_mps


def test_a_set_up_alone_waits_for_its_recording() -> None:
    prediction = predict(buzzer())
    row = run_row("first.wav", None, prediction)
    assert row.outcome == WAITING
    assert row.speed_mps.predicted == prediction.speed_mps
    assert row.speed_mps.measured is None
    assert row.closest_m.predicted is None


@pytest.mark.parametrize(("speed", "overall"), [(6.05, "agree"), (9.0, "disagree")])
def test_a_comparison_gives_the_verdict(speed: float, overall: str) -> None:
    comparison = compare(buzzer(), measured(speed_mps=speed))
    row = run_row("first.wav", comparison.measurement, comparison=comparison)
    assert row.overall == overall
    assert row.verdict == comparison.verdict
    seen = comparison.row("speed_mps")
    assert seen is not None
    assert row.speed_mps.difference == seen.difference
    assert row.speed_mps.e_n == seen.e_n
    assert row.warnings == comparison.notes
    # the distance was not taped, so only the sound gives it
    assert row.closest_m.predicted is None
    assert row.closest_m.measured is not None


def test_a_refusal_keeps_its_reason_and_the_prediction() -> None:
    row = run_row("wind.wav", refused("No pass-by found: too faint."), predict(buzzer()))
    assert row.outcome == REFUSED
    assert row.sentence == "No pass-by found: too faint."
    assert row.speed_mps.predicted is not None
    assert row.speed_mps.measured is None


def test_a_failure_keeps_its_sentence() -> None:
    row = failed_row("broken.wav", "broken.wav is empty; choose another file.", predict(buzzer()))
    assert row.outcome == FAILED
    assert "empty" in row.sentence
    assert row.source_hz.predicted is not None


def test_an_unknown_quantity_is_refused() -> None:
    with pytest.raises(KeyError):
        run_row("first.wav", measured()).sides("name")
