"""Set-ups as JSON: lossless round trip, and one clear sentence for everything unusable."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wayside.errors import SetupError
from wayside.hand.entry import DISTRIBUTIONS, Entry
from wayside.hand.predict import predict
from wayside.hand.setup import Draft
from wayside.hand.setup_file import parse_json
from wayside.hand.setup_json import (
    draft_from_json,
    entry_from_json,
    entry_to_json,
    setup_from_json,
    setup_to_json,
)

numbers = st.floats(allow_nan=False, allow_infinity=False)
optional = st.none() | numbers
entries = st.builds(
    Entry,
    value=numbers,
    unit=st.sampled_from(["", "in", "°F", "m", "degC"]),
    u=optional,
    half_width=optional,
    distribution=st.none() | st.sampled_from(DISTRIBUTIONS),
    resolution=optional,
    tool=st.text(max_size=5),
) | st.builds(Entry, value=st.none(), readings=st.lists(numbers, min_size=1).map(tuple))


@given(entry=entries)
def test_entry_survives_text_and_back(entry: Entry) -> None:
    text = json.dumps(entry_to_json(entry))
    assert entry_from_json(parse_json(text), "motion.speed") == entry


@given(title=st.text(), notes=st.text(), entry=entries)
def test_draft_survives_text_and_back(title: str, notes: str, entry: Entry) -> None:
    draft = Draft("tone", "ideal-gas", {"motion.speed": entry}, title, notes, {"tape": entry})
    assert draft_from_json(parse_json(json.dumps(setup_to_json(draft)))) == draft


def test_setup_keeps_the_units_the_user_chose(wheel_data: dict[str, Any]) -> None:
    assert setup_to_json(setup_from_json(wheel_data)) == wheel_data


def _with(data: dict[str, Any], path: str, new: Any) -> dict[str, Any]:
    data = copy.deepcopy(data)
    *parents, last = path.split(".")
    part = data
    for name in parents:
        part = part[name]
    if new is KeyError:
        del part[last]
    else:
        part[last] = new
    return data


def _v(number: Any, unit: Any = "m", u: Any = 0.1) -> dict[str, Any]:
    return {"value": number, "unit": unit, "u": u}


BAD = [
    ("format", "something", "format"),
    ("format", KeyError, "format"),
    ("version", 2, "version"),
    ("version", True, "version"),
    ("version", "1", "version"),
    ("title", 3, "title"),
    ("colour", "red", "colour"),
    ("motion", [], "motion"),
    ("motion", KeyError, "motion"),
    ("motion.marker_distance", KeyError, "motion.marker_distance"),
    ("motion.second_time", KeyError, "motion.second_time"),
    ("motion.marker_distance", 12.0, "motion.marker_distance"),
    ("motion.marker_distance", None, "motion.marker_distance"),
    ("motion.marker_distance", _v(0.0), "motion.marker_distance"),
    ("motion.marker_distance", _v(-12.0), "motion.marker_distance"),
    ("motion.marker_distance", _v(1e9), "motion.marker_distance"),
    ("motion.marker_distance", _v(10**400), "motion.marker_distance"),
    ("motion.marker_distance", _v(float("nan")), "motion.marker_distance"),
    ("motion.marker_distance", _v(float("inf")), "motion.marker_distance"),
    ("motion.marker_distance", _v("12"), "motion.marker_distance"),
    ("motion.marker_distance", _v(True), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, "furlong"), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, "s"), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, ""), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, 7), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, "m", -0.1), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, "m", 12.0), "motion.marker_distance"),
    ("motion.marker_distance", _v(12.0, "m", float("nan")), "motion.marker_distance"),
    ("motion.marker_distance", {"value": 12.0, "unit": "m"}, "motion.marker_distance"),
    ("motion.marker_distance", {"unit": "m", "u": 0.1}, "motion.marker_distance"),
    (
        "motion.marker_distance",
        {"value": 12.0, "unit": "m", "u": 0.1, "error": 1},
        "motion.marker_distance.error",
    ),
    (
        "motion.marker_distance",
        {"readings": [12.0, "x"], "unit": "m"},
        "motion.marker_distance",
    ),
    ("motion.marker_distance", {"readings": [], "unit": "m"}, "motion.marker_distance"),
    ("motion.marker_distance", {"readings": [12.0], "unit": "m"}, "motion.marker_distance"),
    (
        "motion.marker_distance",
        {"value": 12.0, "readings": [12.0, 12.1], "unit": "m"},
        "motion.marker_distance",
    ),
    (
        "motion.marker_distance",
        {"value": 12.0, "unit": "m", "u": 0.1, "half_width": 0.1},
        "motion.marker_distance",
    ),
    (
        "motion.marker_distance",
        {"value": 12.0, "unit": "m", "u": 0.1, "distribution": "cauchy"},
        "motion.marker_distance",
    ),
    (
        "motion.marker_distance",
        {"value": 12.0, "unit": "m", "u": 0.1, "tool": "tape"},
        "motion.marker_distance",
    ),
    ("motion.second_time", _v(3.0, "s", 0.01), "motion.second_time"),
    ("motion.second_time", _v(3.2, "s", 0.01), "motion.second_time"),
    ("motion.second_time", _v(3.21, "s", 0.01), "motion.marker_distance"),
    ("motion.second_time", _v(3.22, "s", 0.0001), "motion.marker_distance"),
    ("motion.frame_rate", _v(30, "Hz", 0.1), "motion.frame_rate"),
    ("motion.speed", _v(5, "m/s", 0.1), "motion.speed"),
    ("source", KeyError, "source.kind"),
    ("source.kind", "bell", "source.kind"),
    ("source.kind", 3, "source.kind"),
    ("source.count", _v(62.5, "", 0.1), "source.count"),
    ("source.count", _v(0, "", 0.0), "source.count"),
    ("source.squash", KeyError, "source.squash"),
    ("source.squash", _v(14.0, "in", 0.1), "source.squash"),
    ("source.pitch", _v(440.0, "Hz"), "source.pitch"),
    ("air.formula", "guess", "air.formula"),
    ("air.formula", KeyError, "air.formula"),
    ("air.temperature", KeyError, "air.temperature"),
    ("air.temperature", _v(-300, "°C", 1), "air.temperature"),
    ("air.temperature", _v(20, "K", 1), "air.temperature"),
    ("air.humidity", _v(140, "%", 5), "air.humidity"),
    ("air.wind_along", _v(500, "km/h", 5), "air.wind_along"),
    ("tools", {"tape": _v(0, "%", 0.1)}, "tools.tape"),
    ("tools", {"tape": 3}, "tools.tape"),
]


@pytest.mark.parametrize(("path", "new", "field"), BAD)
def test_bad_entry_gets_one_sentence_at_its_field(
    wheel_data: dict[str, Any], path: str, new: Any, field: str
) -> None:
    with pytest.raises(SetupError) as caught:
        setup_from_json(_with(wheel_data, path, new))
    assert caught.value.field == field
    sentence = str(caught.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert len(sentence) < 400


@pytest.mark.parametrize("data", [None, 3, "x", [], True, {}])
def test_anything_but_a_setup_is_refused(data: Any) -> None:
    with pytest.raises(SetupError):
        setup_from_json(data)


def _paths(data: Any, head: str = "") -> list[str]:
    if not isinstance(data, dict):
        return []
    here = [f"{head}{key}" for key in data]
    return here + [p for key in data for p in _paths(data[key], f"{head}{key}.")]


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_replacement_ever_ends_in_anything_but_a_result_or_a_sentence(
    wheel_data: dict[str, Any], data: Any
) -> None:
    path = data.draw(st.sampled_from(_paths(wheel_data)))
    candidate = _with(wheel_data, path, data.draw(json_values))
    assert _sentence_or_order(candidate)


def _sentence_or_order(data: dict[str, Any]) -> bool:
    try:
        prediction = predict(setup_from_json(data))
    except SetupError as error:
        return str(error).endswith(".")
    return prediction.recede_hz.value < prediction.source_hz.value
