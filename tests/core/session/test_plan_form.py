"""The planning form: usual values, units, faults at their fields, and a prediction taken over."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.core.session.test_ear_and_tools import paper

from wayside.hand.predict import predict
from wayside.plan.make import make_plan
from wayside.session.hand_form import read_form
from wayside.session.plan_form import SECTIONS, USUAL, plan_from, read_plan
from wayside.session.session import Entry, Session


def test_an_untouched_form_plans_with_usual_values() -> None:
    reading = read_plan(Session())
    assert reading.usual
    assert reading.request is not None
    assert reading.request.pitch_hz == 1000.0
    assert reading.request.tape_u_m == pytest.approx(0.02)
    assert reading.request.wanted_percent == pytest.approx(2.0)
    # ISO 9613-1, formula A.5: 343.2 m/s at 20 °C
    assert reading.request.sound_speed_mps == pytest.approx(343.2)
    assert make_plan(reading.request).cases


@pytest.mark.parametrize("way", [w.key for w in SECTIONS[0].ways])
def test_every_way_to_give_the_source_has_usual_values(way: str) -> None:
    reading = read_plan(Session().with_choice("plan.way", way))
    assert reading.request is not None
    assert make_plan(reading.request).cases


def test_units_are_converted_and_a_wheel_gives_elements_per_metre() -> None:
    session = Session().with_choice("plan.way", "wheel")
    for path, entry in {
        "plan.count": Entry("92"),
        "plan.radius": Entry("0.326", "m"),
        "plan.speed_low": Entry("14.4", "km/h"),
        "plan.speed_high": Entry("28,8", "km/h"),
        "plan.distance": Entry("10", "ft"),
        "plan.temperature": Entry("59", "°F"),
        "plan.frame_rates": Entry("240 30"),
    }.items():
        session = session.with_entry(path, entry)
    request = read_plan(session).request
    assert request is not None
    # n = N/(2 pi r), school geometry
    assert request.cycles_per_metre == pytest.approx(92 / (2 * math.pi * 0.326))
    assert (request.speed_low_mps, request.speed_high_mps) == pytest.approx((4.0, 8.0))
    assert request.closest_m == pytest.approx(3.048)
    assert request.frame_rates == (30.0, 240.0)


@pytest.mark.parametrize(
    ("path", "text", "place", "word"),
    [
        ("plan.distance", "near", "plan.distance", "not a number"),
        ("plan.distance", "3 4", "plan.distance", "more than one"),
        ("plan.distance", "-3", "plan.distance", "between"),
        ("plan.speed_low", "9", "plan.speed_high", "swap"),
        ("plan.speed_high", "330", "plan.speed_high", "fast as sound"),
        ("plan.markers", "50", "plan.markers", "further apart"),
        ("plan.frame_rates", "30 x", "plan.frame_rates", "not a number"),
        ("plan.frame_rates", "0", "plan.frame_rates", "between"),
        ("plan.wanted", "0", "plan.wanted", "between"),
    ],
)
def test_faults_stand_at_their_fields(path: str, text: str, place: str, word: str) -> None:
    reading = read_plan(Session().with_entry(path, Entry(text)))
    assert reading.request is None
    assert list(reading.faults) == [place]
    assert word in reading.faults[place]
    assert "plan." not in reading.faults[place]


@given(
    path=st.sampled_from(sorted(USUAL)),
    text=st.text(max_size=10) | st.floats(allow_nan=False).map(repr),
    way=st.sampled_from([w.key for w in SECTIONS[0].ways]),
)
def test_any_text_ends_in_a_plan_or_a_sentence(path: str, text: str, way: str) -> None:
    session = Session().with_choice("plan.way", way).with_entry(path, Entry(text))
    reading = read_plan(session)
    if reading.request is not None:
        assert make_plan(reading.request).cases
    for sentence in reading.faults.values():
        assert sentence.endswith(".")


def test_a_prediction_is_taken_over() -> None:
    setup = read_form(paper(microphone__distance=Entry("2.4", "m", "0.05"))).setup
    assert setup is not None
    p = predict(setup)
    session = plan_from(Session(), p)
    assert session is not None
    request = read_plan(session).request
    assert request is not None
    assert p.cycles_per_metre is not None
    assert request.cycles_per_metre == pytest.approx(p.cycles_per_metre.value, rel=1e-3)
    assert request.speed_low_mps == pytest.approx(p.speed_mps.value, rel=1e-3)
    assert request.closest_m == pytest.approx(2.4)
    assert request.markers_m == pytest.approx(6.1)


def test_an_observer_that_moves_cannot_be_planned() -> None:
    session = paper(source__pitch=Entry("440", "Hz", "1")).with_choice(
        "source.kind", "moving-observer"
    )
    setup = read_form(session).setup
    assert setup is not None
    assert plan_from(Session(), predict(setup)) is None
