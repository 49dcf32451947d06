"""What is said beside the verdict, and what is not said where it does not apply."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from wayside.compare.compare import Comparison, compare
from wayside.compare.notes import slowing_note
from wayside.hand.entry import Entry
from wayside.hand.predict import predict
from wayside.hand.setup import Setup
from wayside.measure.result import Measurement
from wayside.quantity import Quantity

Make = Callable[..., Measurement]


def _slowing(wheel: Setup, heard: Make, a: float, u: float, position: float | None) -> str:
    if position is not None:
        wheel = wheel.with_entry("microphone.position", Entry(position, "m", u=0.1))
    p = predict(wheel)
    recording = heard(p.approach_hz.value, p.recede_hz.value)
    assert recording.fit is not None
    fit = replace(recording.fit, acceleration_mps2=Quantity(a, u, "m/s^2"))
    return slowing_note(p, replace(recording, fit=fit))


def test_a_change_of_speed_is_carried_to_the_microphone(wheel: Setup, heard: Make) -> None:
    # markers 12 m apart, so their middle at 6 m; speed 12/1.85 m/s; change a x / v
    v = 12.0 / 1.85
    for a, position, side, what in (
        (-0.3, 10.0, "4 m after", "slows"),
        (0.3, 10.0, "4 m after", "speeds up"),
        (-0.3, 1.0, "5 m before", "slows"),
    ):
        note = _slowing(wheel, heard, a, 0.02, position)
        assert f"The source {what}" in note
        assert f"stands {side} the middle" in note
        change = a * (position - 6.0) / v
        number = f"{abs(change):.3g}"[:4]
        assert f"{'−' if change < 0 else ''}{number}" in note


def test_half_a_metre_is_told_too_where_it_counts(wheel: Setup, heard: Make) -> None:
    assert "0.5 m after" in _slowing(wheel, heard, -3.0, 0.02, 6.5)


@pytest.mark.parametrize(
    ("a", "u"), [(0.0, 0.0), (-0.3, math.inf), (-0.3, math.nan), (-0.3, 0.15), (-0.3, 0.2)]
)
def test_a_change_that_is_not_sure_is_not_carried(
    wheel: Setup, heard: Make, a: float, u: float
) -> None:
    assert _slowing(wheel, heard, a, u, 10.0) == ""
    assert _slowing(wheel, heard, a, u, None) == ""


def test_a_change_that_makes_no_difference_is_not_told(wheel: Setup, heard: Make) -> None:
    assert _slowing(wheel, heard, -0.3, 0.02, 6.0) == ""
    # a fifth of the prediction's own uncertainty is the least that is told
    least = 0.2 * predict(wheel).speed_mps.u * (12.0 / 1.85) / 0.3
    assert _slowing(wheel, heard, -0.3, 0.02, 6.0 + 0.95 * least) == ""
    assert _slowing(wheel, heard, -0.3, 0.02, 6.0 + 1.05 * least)


def test_without_markers_or_a_fit_there_is_no_such_note(
    tone: Setup, wheel: Setup, heard: Make
) -> None:
    assert _slowing(tone, heard, -0.3, 0.02, None) == ""
    p = predict(wheel)
    assert slowing_note(p, heard(p.approach_hz.value, p.recede_hz.value, fit=None)) == ""


def _times(setup: Setup, heard: Make, factor: float, harmonic: int = 1) -> Comparison:
    p = predict(setup)
    return compare(p, heard(factor * p.approach_hz.value, factor * p.recede_hz.value), harmonic)


@pytest.mark.parametrize(
    ("factor", "named"),
    [(2.0, 2), (2.1, 2), (1.92, 2), (7.8, 8), (0.5, 2), (0.34, 3), (2.0 * math.exp(0.055), 2)],
)
def test_near_a_whole_multiple_it_is_named(
    wheel: Setup, heard: Make, factor: float, named: int
) -> None:
    (note,) = (n for n in _times(wheel, heard, factor).notes if "times the" in n)
    assert f"close to {named} times" in note
    assert "which a whole multiple leaves alone" in note
    assert note.startswith("The measured" if factor > 1 else "The predicted")


@pytest.mark.parametrize("factor", [1.0, 1.03, 0.97, 1.5, 2.0 * math.exp(0.065), 9.0, 0.7])
def test_elsewhere_none_is_named(wheel: Setup, heard: Make, factor: float) -> None:
    assert not [n for n in _times(wheel, heard, factor).notes if "times the" in n]


def test_another_drop_is_not_called_support(wheel: Setup, heard: Make) -> None:
    p = predict(wheel)
    c = compare(p, heard(2.2 * p.approach_hz.value, 1.9 * p.recede_hz.value))
    (note,) = (n for n in c.notes if "times the" in n)
    assert "leaves alone" not in note


def test_the_harmonic_that_was_named_is_told(wheel: Setup, heard: Make) -> None:
    said = "were divided by 2, the harmonic you named"
    assert any(said in n for n in _times(wheel, heard, 2.0, 2).notes)
    assert not any("the harmonic you named" in n for n in _times(wheel, heard, 1.0).notes)
    # a further multiple is counted from the fundamental
    (note,) = (n for n in _times(wheel, heard, 6.0, 2).notes if "times the" in n)
    assert "harmonic 6" in note


def test_what_to_measure_next_time(wheel: Setup, tone: Setup, heard: Make) -> None:
    advice = "Measure the distance from microphone to track"
    assert any(advice in n for n in _times(wheel, heard, 1.0).notes)
    assert not any(advice in n for n in _times(tone, heard, 1.0).notes)
    taped = wheel.with_entry("microphone.distance", Entry(2.0, "m", u=0.05))
    assert not any(advice in n for n in _times(taped, heard, 1.0).notes)


def test_clocks_are_spoken_of_where_times_are_compared(wheel: Setup, heard: Make) -> None:
    said = "only if film and sound share one clock"
    placed = wheel.with_entry("microphone.position", Entry(6.0, "m", u=0.1))
    assert any(said in n for n in _times(placed, heard, 1.0).notes)
    assert not any(said in n for n in _times(wheel, heard, 1.0).notes)


def test_the_other_wheel_is_spoken_of_where_a_wheel_was_filmed(
    wheel: Setup, tone: Setup, heard: Make
) -> None:
    # wheels 1.05 m apart at 12/1.85 m/s
    said = "marked at the other wheel, the passing times differ by up to 0.16 s."
    position = Entry(6.0, "m", u=0.1)
    placed = wheel.with_entry("microphone.position", position)
    assert any(said in n for n in _times(placed, heard, 1.0).notes)
    assert not any("other wheel" in n for n in _times(wheel, heard, 1.0).notes)
    buzzer = tone.with_entry("microphone.position", position)
    assert not any("other wheel" in n for n in _times(buzzer, heard, 1.0).notes)
