"""The JSON of a measurement is what docs/json-output.md says: keys, types, finite or null."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.core.measure.recordings import RATE, options, recorded

from wayside.measure.options import MeasureOptions
from wayside.measure.pipeline import measure
from wayside.measure.report_json import measurement_as_json
from wayside.sound.recording import Recording

DOCS = Path(__file__).resolve().parents[3] / "docs" / "json-output.md"
QUANTITIES = {
    "approach_hz": "Hz",
    "recede_hz": "Hz",
    "source_hz": "Hz",
    "speed_mps": "m/s",
    "closest_m": "m",
    "passing_time_s": "s",
    "sound_speed_mps": "m/s",
}
FIT_ONLY = {"acceleration_mps2", "source_model", "method", "coherence_time_s", "intervals"}


def _strict(values: dict[str, Any]) -> dict[str, Any]:
    """Write and read back, refusing NaN and Infinity."""
    text = json.dumps(values, allow_nan=False)
    return dict(json.loads(text))


def _assert_quantity(q: Any, unit: str) -> None:
    assert set(q) == {"value", "u", "unit"}
    assert q["unit"] == unit
    assert isinstance(q["value"], float)
    assert math.isfinite(q["value"])
    assert q["u"] is None or (isinstance(q["u"], float) and q["u"] >= 0)


def _assert_fit(fit: dict[str, Any]) -> None:
    assert set(fit) >= set(QUANTITIES) | FIT_ONLY
    for name, unit in QUANTITIES.items():
        _assert_quantity(fit[name], unit)
    _assert_quantity(fit["acceleration_mps2"], "m/s^2")
    assert fit["source_model"] in ("fixed", "speed-tied")
    assert fit["method"] in ("coherent", "incoherent")
    for name in (*QUANTITIES, "acceleration_mps2"):
        if name == "sound_speed_mps":
            continue
        ends = [fit["intervals"][name][e] for e in ("low_95", "low_68", "high_68", "high_95")]
        assert ends == sorted(ends)
        assert ends[1] <= fit[name]["value"] <= ends[2]
    assert fit["coherence_time_s"] is None or fit["coherence_time_s"] > 0


@pytest.fixture(scope="module")
def found() -> dict[str, Any]:
    return _strict(measurement_as_json(measure(recorded(), MeasureOptions())))


@pytest.fixture(scope="module")
def refused() -> dict[str, Any]:
    noise = np.random.default_rng(2).standard_normal(2 * RATE)
    return _strict(measurement_as_json(measure(Recording.from_array(noise, RATE), options())))


def test_every_documented_key_is_there(found: dict[str, Any], refused: dict[str, Any]) -> None:
    section = DOCS.read_text(encoding="utf-8").split("\n## measure\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.+?) \|", section, re.MULTILINE)
    documented = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    documented |= set(QUANTITIES)
    assert {"found", "detection", "two_window", "fit", "warnings"} <= documented
    for values in (found, refused):
        assert set(values) == documented


def test_a_found_one(found: dict[str, Any]) -> None:
    assert (found["format"], found["version"]) == ("wayside-measurement", 1)
    assert found["found"] is True
    for name, unit in QUANTITIES.items():
        _assert_quantity(found[name], unit)
        assert found[name] == found["fit"][name]
    _assert_fit(found["fit"])
    for other in found["alternatives"]:
        _assert_fit(other)
    two = found["two_window"]
    assert set(two) == {"approach", "recede", "speed_mps", "source_hz"}
    for side in ("approach", "recede"):
        window = two[side]
        assert set(window) == {"start_s", "stop_s", "pitch", "shortfall_hz"}
        _assert_quantity(window["pitch"], "Hz")
        assert found["used_s"][0] <= window["start_s"] < window["stop_s"]
    _assert_quantity(two["speed_mps"], "m/s")
    _assert_quantity(two["source_hz"], "Hz")
    start, stop = found["used_s"]
    assert 0 <= start < stop <= 3.2 + 1e-6


def test_a_refused_one(refused: dict[str, Any]) -> None:
    assert refused["found"] is False
    for name in set(QUANTITIES) - {"sound_speed_mps"}:
        assert refused[name] is None
    _assert_quantity(refused["sound_speed_mps"], "m/s")
    assert refused["two_window"] is None
    assert refused["fit"] is None
    assert refused["alternatives"] == []


@pytest.mark.parametrize("which", ["found", "refused"])
def test_what_both_have(which: str, request: pytest.FixtureRequest) -> None:
    values = request.getfixturevalue(which)
    detection = values["detection"]
    assert set(detection) == {"statistic", "threshold", "false_alarm_rate", "reason"}
    assert (detection["statistic"] >= detection["threshold"]) or not values["found"]
    assert 0 < detection["false_alarm_rate"] < 0.05
    for sentence in (detection["reason"], *values["limits"], *values["warnings"]):
        assert isinstance(sentence, str)
        assert sentence[0].isupper()
        assert sentence.endswith(".")
