"""What is asked of a sound of which nobody says what makes it.

The tracks are made from the pass-by's own curve (self-consistency).
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import cast

import numpy as np
import pytest
from numpy.linalg import LinAlgError
from tests.benchmarks.scenarios import drawn, record, truth
from tests.core.measure.recordings import HUM as HUM_OF_RECORDINGS
from tests.core.measure.recordings import options, recorded

from wayside.jobs import QUIET
from wayside.measure import pipeline
from wayside.measure.demod import Blocks
from wayside.measure.fitted import Choice, ModelFit, Wheels
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import Priors
from wayside.measure.pipeline import measure
from wayside.measure.refine import Refined, Sound
from wayside.measure.result import Track
from wayside.measure.shape import (
    BEATS,
    BRIEF,
    COMES_AND_GOES,
    ELSEWHERE,
    OPEN,
    RUNS_DOWN,
    STANDSTILL,
    UNDATED,
    Shape,
    judge_shape,
)
from wayside.measure.unrest import Unrest
from wayside.physics.passby import PassBy
from wayside.sound.media import load_recording

HUM = PassBy(300.0, 6.0, 2.0, 2.0, 343.2, 0.0, True)
SURE = (0.02, 0.1, 0.05, 0.01, 0.01)


def _fit(p: PassBy, u: tuple[float, ...] = SURE, method: str = "incoherent") -> ModelFit:
    return ModelFit(p, np.diag(np.square(u)), method, Unrest(walk=0.1), 0.0, np.zeros(5))


def _track(p: PassBy, frame_s: float = 0.05) -> Track:
    times = np.arange(0.5, 3.5, frame_s)
    level = -20 * np.log10(p.distance(p.emission_time(times)) / p.closest_m)
    return Track(times, p.pitch(times), np.full(times.size, 0.05), level)


def _faults(
    fit: ModelFit, track: Track, told: bool, wheels: Wheels | None = None
) -> tuple[str, ...]:
    return judge_shape(fit, track, -60.0, wheels=wheels, told=told).faults


def _kept(track: Track, kept: np.ndarray) -> Track:
    return Track(
        *(row[kept] for row in (track.times_s, track.pitch_hz, track.u_hz, track.level_db))
    )


def test_a_pitch_that_falls_by_itself_far_more_than_by_passing_is_an_engine_s() -> None:
    # passing changes the pitch by 2 v/c = 3.5 %, so much braking by 3 s · 1.9 m/s² / 6 m/s = 95 %
    coasting, braking = (_fit(HUM.with_(acceleration_mps2=a)) for a in (-0.3, -1.9))
    for fit in (coasting, braking):
        assert RUNS_DOWN not in _faults(fit, _track(fit.passby), told=True)
    assert RUNS_DOWN not in _faults(coasting, _track(coasting.passby), told=False)
    assert RUNS_DOWN in _faults(braking, _track(braking.passby), told=False)


def test_a_pitch_that_falls_by_itself_and_stays_open_tells_no_passing() -> None:
    # two per cent of 300 Hz
    for u_hz, dated in ((5.0, True), (7.0, False)):
        fit = _fit(HUM, (u_hz, 0.1, 0.05, 0.01, 0.01))
        assert UNDATED not in _faults(fit, _track(HUM), told=True)
        assert (UNDATED not in _faults(fit, _track(HUM), told=False)) is dated
        own = _fit(HUM.with_(speed_tied=False), (u_hz, 0.1, 0.05, 0.01, 0.01))
        assert UNDATED not in _faults(own, _track(own.passby), told=False)


def test_a_fast_engine_s_speed_has_to_be_known() -> None:
    fast = PassBy(300.0, 25.0, 10.0, 2.0, 343.2)
    known, open_ = (_fit(fast, (0.1, share * 25.0, 0.5, 0.01, 0.01)) for share in (0.1, 0.2))
    assert STANDSTILL not in _faults(known, _track(fast), told=False)
    assert STANDSTILL in _faults(open_, _track(fast), told=False)
    assert STANDSTILL in OPEN


def test_a_fast_source_s_level_must_rise_whichever_way_it_points() -> None:
    fast = PassBy(300.0, 25.0, 10.0, 2.0, 343.2)
    fit, track = _fit(fast, (0.1, 0.5, 0.3, 0.01, 0.01)), _track(fast)
    # as the fourth power of the Doppler factor, which is allowed for, with half the rise of 1/r
    ahead = 80.0 * np.log10(track.pitch_hz / 300.0)
    pointed, flat = (
        replace(track, level_db=share * track.level_db + ahead) for share in (1.0, 0.35)
    )
    assert ELSEWHERE not in _faults(fit, pointed, told=False)
    assert ELSEWHERE in _faults(fit, flat, told=False)


def test_a_beat_that_hides_the_level_asks_for_the_kind() -> None:
    both = Wheels(0.01, 0.001, 1.0, 40.0, 10.0)
    fit, track = _fit(HUM), _track(HUM)
    hidden = replace(track, level_db=12.0 * np.cos(2 * np.pi * 1.3 * track.times_s))
    assert BEATS not in _faults(fit, track, told=False, wheels=both)
    assert BEATS in _faults(fit, hidden, told=False, wheels=both)
    assert BEATS not in _faults(fit, hidden, told=True, wheels=both)
    fast = HUM.with_(speed_mps=16.0, closest_m=5.0)
    assert BEATS in _faults(_fit(fast), _track(fast), told=False, wheels=both)


def test_what_is_heard_in_gaps_is_no_passing_unless_its_level_says_so() -> None:
    track = _track(HUM)
    rng = np.random.default_rng(4)
    gaps = _kept(track, rng.random(track.times_s.size) < 0.3)
    uneven = replace(gaps, level_db=gaps.level_db + 4.0 * (-1.0) ** np.arange(gaps.times_s.size))
    tone = _fit(HUM.with_(speed_tied=False), method="coherent")
    assert COMES_AND_GOES not in _faults(tone, gaps, told=False)
    assert COMES_AND_GOES in _faults(tone, uneven, told=False)
    # a wavering one in fewer than three frames of four; the level may not choose another passing
    rng = np.random.default_rng(4)
    most = _kept(track, rng.random(track.times_s.size) < 0.68)
    late = HUM.with_(passing_time_s=2.2)
    later = replace(most, level_db=_track(late).level_db[np.isin(track.times_s, most.times_s)])
    open_ = _fit(HUM, (0.2, 1.0, 0.4, 0.3, 0.05))
    assert COMES_AND_GOES not in _faults(open_, most, told=False)
    assert COMES_AND_GOES not in _faults(open_, later, told=True)
    assert COMES_AND_GOES in _faults(open_, later, told=False)


def test_few_frames_must_tell_of_near_and_far_the_more_clearly() -> None:
    few = _track(HUM, 0.25)
    rough = replace(few, level_db=few.level_db + 2.5 * (-1.0) ** np.arange(few.times_s.size))
    for told in (True, False):
        assert BRIEF not in _faults(_fit(HUM), few, told)
        assert BRIEF in _faults(_fit(HUM), rough, told)


def test_few_pulses_that_do_not_rise_at_the_passing_are_none_unless_told_to_be_a_tone() -> None:
    # pulses whose phase begins anew, as a vibrato's swells look: no likelihood over the whole
    # curve stands for the frames that are missing
    tone = PassBy(1600.0, 6.8, 5.6, 2.0, 343.2)
    fit, rising = _fit(tone, (1.0, 0.5, 0.5, 0.1, 0.01), "coherent"), _track(tone, 0.4)
    even = replace(rising, level_db=0.1 * rising.level_db)
    assert rising.times_s.size < 10
    for track, pulsed, told, refused in (
        (even, True, False, True),
        (rising, True, False, False),
        (even, True, True, False),
        (even, False, False, False),
    ):
        faults = judge_shape(fit, track, -60.0, pulsed=pulsed, told=told).faults
        assert (ELSEWHERE in faults) == refused


def test_a_hum_of_unknown_kind_is_not_given_as_a_fixed_pitch_alone() -> None:
    # a fixed pitch is likelier by 6 nats here, and its speed 7 uncertainties off
    run = drawn("hums, any recording", 8057)
    m = measure(record(run, 8057), replace(run.options, source_kind="unknown"), others=False)
    assert m.found, m.detection.reason
    assert m.fit is not None
    true = truth(run, 8057, m.fit.passby).speed_mps
    assert m.fit.source_model == "speed-tied"
    assert abs(m.fit.speed_mps.value - true) < 1.96 * m.fit.speed_mps.u
    assert [one.source_model for one in m.alternatives] == ["fixed"]


@pytest.mark.parametrize(
    "seed",
    [
        # surely of a fixed pitch
        9000,
        # by 9 nats, and the shape speaks against a pitch tied to the speed
        9026,
    ],
)
def test_a_tone_of_unknown_kind_is_still_one(seed: int) -> None:
    run = drawn("tone, phone", seed)
    m = measure(record(run, seed), replace(run.options, source_kind="unknown"), others=False)
    assert m.fit is not None, m.detection.reason
    assert (m.fit.source_model, m.alternatives) == ("fixed", ())


def test_the_windy_sample_is_measured_where_nobody_says_what_sounds() -> None:
    media = Path(__file__).resolve().parents[3] / "sample_media"
    facts = json.loads((media / "courtyard-windy.m4a.truth.json").read_text("utf-8"))
    found = measure(load_recording(media / "courtyard-windy.m4a"), MeasureOptions())
    assert found.fit is not None, found.detection.reason
    for name in ("speed_mps", "source_hz", "closest_m"):
        quantity = getattr(found.fit, name)
        assert abs(quantity.value - facts[name]["value"]) < 3.0 * quantity.u, name


@pytest.mark.parametrize(("u_mps", "found"), [(1.9, True), (2.1, False)])
def test_a_bicycle_that_nobody_told_of_has_a_speed_known_to_a_third(
    monkeypatch: pytest.MonkeyPatch, u_mps: float, found: bool
) -> None:
    fit = _fit(HUM, (0.02, u_mps, 0.05, 0.01, 0.01))
    blocks, sound = cast(Blocks, None), Sound(np.zeros(100, np.float32), 100.0, 0.0)
    pair = Choice((fit,), None, fit, blocks, wheels=Wheels(0.01, 0.001, 1.0, 40.0, 10.0))
    reading = Refined(HUM, (1, 2), 500.0, 500.0, False, 0.1)
    judged = pipeline.Found(sound, reading, pair, _track(HUM), Shape((), 1.0, 0.02))
    monkeypatch.setattr(pipeline, "both_wheels", lambda *_, **__: pair)
    monkeypatch.setattr(pipeline, "_judged", lambda *_: judged)
    for told in (False, True):
        one = pipeline._as_bicycle(reading, sound, Priors(), told, None, QUIET)
        assert (one is not None) is (found or told)


@pytest.mark.parametrize("kind", ["unknown", "wheel", "tone"])
def test_who_did_not_say_that_it_is_a_wheel_is_told_to(
    monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    def lost(*_: object) -> None:
        raise LinAlgError

    monkeypatch.setattr(pipeline, "_followed", lost)
    m = measure(recorded(HUM_OF_RECORDINGS, length_s=5.0), options(source_kind=kind))
    assert not m.found
    assert "its phase cannot be followed." in m.detection.reason
    assert ("If it is the hum of a wheel, say so" in m.detection.reason) is (kind == "unknown")
