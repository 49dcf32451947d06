"""Pitches judged by ear, shared instruments, and what a set-up does not take away."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.hand.predict import predict
from wayside.session.ear_form import APPROACH, FIELDS, HARMONIC, RECEDE, read_ear
from wayside.session.hand_form import fill_form, read_form
from wayside.session.session import Entry, Session

PAPER = {
    "motion.marker_distance": Entry("6.10", "m", "0.02"),
    "motion.first_time": Entry("3.75", "s", "0.01"),
    "motion.second_time": Entry("4.41", "s", "0.01"),
    "source.count": Entry("92"),
    "source.loaded_radius": Entry("32.6", "cm", "0.4"),
    "air.temperature": Entry("20", "°C", "0.5"),
}


def paper(**changes: Entry) -> Session:
    session = Session()
    for path, entry in PAPER.items():
        session = session.with_entry(path, entry)
    for path, entry in changes.items():
        session = session.with_entry(path.replace("__", "."), entry)
    return session


def test_two_pitches_by_ear_are_read() -> None:
    session = Session()
    assert read_ear(session).heard is None
    session = session.with_entry(APPROACH.path, Entry("0.853", "kHz", "0.003"))
    session = session.with_entry(RECEDE.path, Entry("804", "Hz", "3"))
    session = session.with_entry(HARMONIC.path, Entry("2"))
    reading = read_ear(session)
    assert reading.heard is not None
    assert reading.heard.approach_hz.value == pytest.approx(853.0)
    assert reading.heard.approach_hz.u == pytest.approx(3.0)
    assert reading.harmonic == 2


@pytest.mark.parametrize(
    ("path", "entry", "word"),
    [
        (APPROACH.path, Entry("high", "Hz", "3"), "not a number"),
        (APPROACH.path, Entry("853", "Hz", ""), "uncertainty"),
        (APPROACH.path, Entry("853", "m", "1"), "unit"),
        (RECEDE.path, Entry("900", "Hz", "3"), "swap"),
        (HARMONIC.path, Entry("1.5"), "whole number"),
        (HARMONIC.path, Entry("0"), "between"),
    ],
)
def test_a_bad_pitch_gets_one_sentence_at_its_field(path: str, entry: Entry, word: str) -> None:
    session = Session().with_entry(APPROACH.path, Entry("853", "Hz", "3"))
    session = session.with_entry(RECEDE.path, Entry("804", "Hz", "3"))
    reading = read_ear(session.with_entry(path, entry))
    assert reading.heard is None
    assert word in reading.faults[path]
    assert "heard." not in reading.faults[path]


@given(texts=st.lists(st.tuples(st.text(max_size=8), st.text(max_size=8)), min_size=3, max_size=3))
def test_any_text_by_ear_ends_well(texts: list[tuple[str, str]]) -> None:
    session = Session()
    for field, (text, u) in zip(FIELDS, texts, strict=True):
        session = session.with_entry(field.path, Entry(text, "Hz", u))
    for sentence in read_ear(session).faults.values():
        assert sentence.endswith(".")


def test_a_shared_tape_is_asked_for_and_carried() -> None:
    """One tape for markers and roll-out: its scale error cancels in the pitch, f0 = v N k/L."""
    shared = (("tool", "school tape"),)
    session = paper(
        motion__marker_distance=Entry("6.10", "m", "0.02", extra=shared),
        source__rollout=Entry("10.24", "m", "0.02", extra=shared),
        source__rollout_turns=Entry("5"),
    ).with_choice("source.way", "roll-out")
    reading = read_form(session)
    assert reading.setup is None
    assert [f.label for f in reading.missing] == ["scale of school tape"]
    session = session.with_entry("tools.school tape", Entry("", "%", "1"))
    assert session.entry("tools.school tape").u_text == "1"
    setup = read_form(session).setup
    assert setup is not None
    p = predict(setup)
    adds = [x.contribution for x in p.budget["source_hz"] if x.path == "tools.school tape"]
    assert sum(adds) == pytest.approx(0.0, abs=1e-9)
    speed = {line.path: line for line in p.budget["speed_mps"]}
    # 1 % of the speed
    assert speed["tools.school tape"].contribution == pytest.approx(0.01 * p.speed_mps.value)


@pytest.mark.parametrize("u", ["much", "-1", "90"])
def test_a_bad_scale_is_a_fault_at_its_field(u: str) -> None:
    shared = (("tool", "tape"),)
    session = paper(motion__marker_distance=Entry("6.10", "m", "0.02", extra=shared))
    reading = read_form(session.with_entry("tools.tape", Entry("", "%", u)))
    assert reading.setup is None
    assert list(reading.faults) == ["tools.tape"]
    assert "tools." not in reading.faults["tools.tape"]


@pytest.mark.parametrize("step", ["fine", "-0.1", "1e999"])
def test_a_bad_step_is_a_fault_at_its_field(step: str) -> None:
    entry = Entry("6.10", "m", "0.02", extra=(("resolution", step),))
    assert list(read_form(paper(motion__marker_distance=entry)).faults) == [
        "motion.marker_distance"
    ]


def test_opening_a_set_up_keeps_plans_and_pitches_by_ear() -> None:
    setup = read_form(paper()).setup
    assert setup is not None
    session = Session().with_entry("plan.distance", Entry("3")).with_choice("plan.way", "wheel")
    session = session.with_entry(APPROACH.path, Entry("853", "Hz", "3"))
    session = session.with_entry("source.count", Entry("40"))
    opened = session.with_hand(fill_form(setup))
    assert opened.entry("plan.distance").text == "3"
    assert opened.entry(APPROACH.path).text == "853"
    assert opened.choices["plan.way"] == "wheel"
    assert opened.entry("source.count").text == "92"
