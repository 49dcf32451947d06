"""What people type, and its way into a set-up and back."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.errors import SetupError
from wayside.hand.entry import Entry as HandEntry
from wayside.hand.sections import MARKER_DISTANCE
from wayside.hand.setup import Setup
from wayside.hand.setup_file import read_setup
from wayside.session.hand_form import fill_form, read_form
from wayside.session.session import Entry, Session
from wayside.session.typed import hand_entry, read_number, read_numbers, typed_entry

SAMPLES = Path(__file__).parents[3] / "sample_media"


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("5.61", 5.61),
        ("5,61", 5.61),
        (" 5.61 ", 5.61),
        ("-3", -3.0),
        ("−3", -3.0),
        (".5", 0.5),
        ("5.", 5.0),
        ("2e3", 2000.0),
        ("1,5e-2", 0.015),
        ("+7", 7.0),
    ],
)
def test_numbers_as_people_write_them(text: str, number: float) -> None:
    assert read_number(text) == pytest.approx(number)


@pytest.mark.parametrize(
    "text",
    ["", " ", "six", "5.6.1", "1,234.5", "1.234,5", "5 6", "nan", "inf", "1e999", "0x10", "--3"],
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"number"):
        read_number(text)


def test_repeats_are_kept_apart() -> None:
    assert read_numbers("5.61; 5.60;5,62") == (5.61, 5.60, 5.62)
    assert read_numbers("5.61 5.60") == (5.61, 5.60)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_number_survives_being_typed(number: float) -> None:
    entry = HandEntry(number, "m", u=0.5)
    assert hand_entry(MARKER_DISTANCE, typed_entry(entry)).value == number


@given(
    value=st.floats(0.1, 100),
    u=st.none() | st.floats(0, 1),
    half_width=st.none() | st.floats(0, 1),
    resolution=st.none() | st.floats(0, 1),
    readings=st.lists(st.floats(0.1, 100), min_size=2, max_size=4) | st.none(),
    tool=st.sampled_from(["", "tape"]),
    distribution=st.sampled_from([None, "normal", "triangular"]),
)
def test_every_part_of_a_file_entry_survives_the_form(
    value: float,
    u: float | None,
    half_width: float | None,
    resolution: float | None,
    readings: list[float] | None,
    tool: str,
    distribution: str | None,
) -> None:
    if u is not None:
        half_width = None
    entry = HandEntry(
        None if readings else value,
        "m",
        u,
        half_width,
        distribution,
        resolution,
        tuple(readings or ()),
        tool,
    )
    assert hand_entry(MARKER_DISTANCE, typed_entry(entry)) == entry


def test_a_negative_uncertainty_is_refused_at_its_field() -> None:
    with pytest.raises(SetupError, match="negative") as caught:
        hand_entry(MARKER_DISTANCE, Entry("6.1", "m", "-0.1"))
    assert caught.value.field == MARKER_DISTANCE.path


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.setup.json")), ids=lambda p: p.stem)
def test_every_sample_set_up_survives_the_form(path: Path) -> None:
    setup = read_setup(path)
    reading = read_form(fill_form(setup))
    assert not reading.faults
    assert reading.setup == setup


def test_an_empty_form_has_no_faults_and_names_what_is_missing() -> None:
    reading = read_form(Session())
    assert reading.setup is None
    assert not reading.faults
    assert [f.path for f in reading.missing][:2] == ["motion.marker_distance", "motion.first_time"]


def test_the_speed_of_sound_is_known_as_soon_as_the_air_is() -> None:
    reading = read_form(Session().with_entry("air.temperature", Entry("20", "°C", "0.5")))
    assert reading.setup is None
    speed = reading.sound_speed
    assert speed is not None
    # common practice, no source: 331 + 0.6 T
    assert speed.value == pytest.approx(343.0)
    assert math.isclose(speed.u, 0.3, rel_tol=0.7)
    assert speed.u >= 0.3


def test_the_taped_distance_is_known_by_itself() -> None:
    reading = read_form(Session().with_entry("microphone.distance", Entry("250", "cm", "2")))
    closest = reading.closest
    assert closest is not None
    assert (closest.value, closest.u) == (pytest.approx(2.5), pytest.approx(0.02))


def test_a_set_up_with_a_shared_instrument_survives() -> None:
    entries = {
        "motion.marker_distance": HandEntry(6.1, "m", 0.01, tool="tape"),
        "motion.first_time": HandEntry(1.0, "s", 0.01),
        "motion.second_time": HandEntry(2.0, "s", 0.01),
        "source.pitch": HandEntry(440.0, "Hz", 1.0),
        "air.temperature": HandEntry(20.0, "°C", 0.5),
    }
    setup = Setup("tone", "ideal-gas", entries, "A", "B", {"tape": HandEntry(0.0, "%", 0.1)})
    assert read_form(fill_form(setup)).setup == setup
