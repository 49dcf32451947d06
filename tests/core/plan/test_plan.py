"""Plans: expected pitches, windows, markers, microphone and warnings."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.errors import InputError
from wayside.plan.make import audible_speed, glide_time, make_plan, microphone_offset, speed_case
from wayside.plan.picture import plan_svg, write_svg
from wayside.plan.plan_json import plan_as_json
from wayside.plan.plan_text import plan_as_text
from wayside.plan.request import PlanRequest

GOOD = PlanRequest(5.0, 8.0, 2.0, 25.0, 25.0, pitch_hz=900.0, markers_m=10.0)
HUM = PlanRequest(3.0, 8.0, 2.0, 20.0, 20.0, cycles_per_metre=30.0)

requests = st.builds(
    lambda v, dv, d, before, after, f: PlanRequest(v, v + dv, d, before, after, pitch_hz=f),
    st.floats(0.5, 20),
    st.floats(0, 20),
    st.floats(0.5, 20),
    st.floats(5, 200),
    st.floats(5, 200),
    st.floats(50, 5000),
)


@given(request=requests)
def test_windows_hold_only_far_pitches_and_lie_within_the_run(request: PlanRequest) -> None:
    for case in make_plan(request).cases:
        p = case.passby
        for window, limit in ((case.approach, p.approach_hz), (case.recede, p.recede_hz)):
            if window is None:
                continue
            assert -request.before_m - 1e-9 <= window.start_m < window.stop_m
            assert window.stop_m <= request.after_m + 1e-9
            pitches = p.pitch(np.linspace(window.start_s, window.stop_s, 50))
            shift = abs(limit - p.source_hz)
            assert np.max(np.abs(pitches - limit)) <= 0.0505 * shift * (1 + 2 * p.speed_mps / 343)


@given(request=requests)
def test_glide_time_is_that_of_the_curve(request: PlanRequest) -> None:
    p = speed_case(request, request.speed_high_mps).passby
    half = 0.5 * glide_time(p)
    drop = p.approach_hz - p.recede_hz
    early, late = (float(p.pitch(t)) for t in (-half, half))
    assert (p.approach_hz - early) / drop == pytest.approx(0.1, abs=1e-6)
    assert (late - p.recede_hz) / drop == pytest.approx(0.1, abs=1e-6)


def test_wheel_pitch_follows_the_speed() -> None:
    slow, _, fast = make_plan(HUM).cases
    assert fast.passby.source_hz / slow.passby.source_hz == pytest.approx(8.0 / 3.0)


def test_marker_distance_reaches_the_wanted_uncertainty_by_sampling() -> None:
    """Crossings anywhere within a frame, a tape of 2 cm: the speed scatters as planned."""
    plan = make_plan(GOOD)
    rng = np.random.default_rng(3)
    for timing in plan.timing:
        n, v = 100_000, GOOD.speed_high_mps
        distance = timing.markers_m + GOOD.tape_u_m * rng.standard_normal(n)
        frame = 1.0 / timing.frame_rate
        late = rng.uniform(-0.5 * frame, 0.5 * frame, (2, n))
        speed = distance / (timing.markers_m / v + late[1] - late[0])
        assert np.std(speed) / v == pytest.approx(0.01 * GOOD.wanted_percent, rel=0.03)


def test_frame_rate_and_marker_distance_are_two_sides_of_one_formula() -> None:
    plan = make_plan(GOOD)
    assert plan.frame_rate_needed is not None
    again = make_plan(replace(GOOD, frame_rates=(plan.frame_rate_needed,)))
    assert again.timing[0].markers_m == pytest.approx(GOOD.markers_m)
    assert again.timing[0].percent == pytest.approx(GOOD.wanted_percent)


def test_proposed_microphone_distance_removes_the_window_warnings() -> None:
    far = replace(GOOD, closest_m=12.0)
    plan = make_plan(far)
    assert any("steady" in w for w in plan.warnings)
    assert plan.offset.best_m is not None
    mended = make_plan(replace(far, closest_m=plan.offset.best_m))
    assert not mended.warnings


def test_too_short_a_run_has_no_microphone_distance() -> None:
    short = replace(GOOD, before_m=2.0, after_m=2.0, markers_m=None)
    offset = microphone_offset(short, make_plan(short).cases)
    assert offset.best_m is None
    assert "too short" in offset.reason


@pytest.mark.parametrize(
    ("request_", "word"),
    [
        (replace(GOOD, speed_low_mps=0.2), "below what an ear notices"),
        (replace(GOOD, speed_low_mps=2.0), "smallest noticeable step"),
        (replace(GOOD, closest_m=9.0), "before the pitch is steady"),
        (replace(GOOD, closest_m=7.5), "only"),
        (replace(GOOD, closest_m=0.5), "jump"),
        (replace(GOOD, closest_m=0.5), "overload"),
        (replace(GOOD, pitch_hz=60.0), "weak in phone microphones"),
        (replace(GOOD, pitch_hz=12_000.0), "hard to judge by ear"),
        (replace(HUM, cycles_per_metre=10.0), "finer tread"),
        (replace(GOOD, markers_m=0.5), "tape alone"),
    ],
)
def test_warnings_name_what_will_not_work(request_: PlanRequest, word: str) -> None:
    assert any(word in w for w in make_plan(request_).warnings)


def test_a_good_plan_has_no_warnings_but_always_cautions() -> None:
    plan = make_plan(GOOD)
    assert not plan.warnings
    assert any("helmet" in s for s in plan.safety)
    assert any("hearing protection" in s for s in plan.safety)
    assert "should work" in plan_as_text(plan)


def test_obvious_speed_gives_eight_noticeable_steps() -> None:
    v = audible_speed(343.2)
    assert speed_case(replace(GOOD, speed_low_mps=v, speed_high_mps=v), v).noticeable_steps == (
        pytest.approx(8.0)
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"pitch_hz": None},
        {"cycles_per_metre": 30.0},
        {"speed_low_mps": 9.0},
        {"speed_high_mps": 330.0},
        {"closest_m": 0.0},
        {"before_m": math.nan},
        {"after_m": -3.0},
        {"wanted_percent": 0.0},
        {"markers_m": 80.0},
        {"frame_rates": ()},
        {"frame_rates": (0.1,)},
        {"sound_speed_mps": 3.0},
    ],
)
def test_absurd_request_gets_one_sentence(changes: dict[str, float]) -> None:
    with pytest.raises(InputError) as caught:
        replace(GOOD, **changes)
    assert str(caught.value).endswith(".")


@given(request=requests)
def test_picture_is_well_formed_and_to_scale(request: PlanRequest) -> None:
    root = ET.fromstring(plan_svg(make_plan(request)))
    space = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{space}title") is not None
    for element in root.iter(f"{space}line"):
        for key in ("x1", "y1", "x2", "y2"):
            assert -1 <= float(element.attrib[key]) <= 901


def test_json_is_plain_and_finite(tmp_path: Path) -> None:
    for request in (GOOD, HUM):
        values = json.loads(json.dumps(plan_as_json(make_plan(request)), allow_nan=False))
        assert values["format"] == "wayside-plan"
        assert len(values["cases"]) == 3
    write_svg(make_plan(GOOD), tmp_path / "plan.svg")
    assert (tmp_path / "plan.svg").read_text(encoding="utf-8").startswith("<svg")
    with pytest.raises(InputError):
        write_svg(make_plan(GOOD), tmp_path / "none" / "plan.svg")
