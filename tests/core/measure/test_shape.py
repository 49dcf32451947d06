"""What the shape tests let a wavering pitch do, and what they do not.

The tracks are made from the pass-by's own curve (self-consistency).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from wayside.measure.fitted import ModelFit
from wayside.measure.result import Track
from wayside.measure.rise import level_slope
from wayside.measure.shape import BRIEF, UNDATED, judge_shape
from wayside.measure.strays import heard_share, lasting_share
from wayside.measure.unrest import Unrest
from wayside.physics.passby import PassBy


def _incoherent(u: tuple[float, ...]) -> ModelFit:
    p = PassBy(300.0, 6.0, 2.0, 2.0, 343.2, 0.0, True)
    covariance = np.diag(np.square(u))
    return ModelFit(p, covariance, "incoherent", Unrest(walk=0.1), 0.0, np.zeros(5))


def _track(true: PassBy, strays_hz: np.ndarray | float = 0.0) -> Track:
    """What a passing of `true` shows in frames of 50 ms."""
    times = np.arange(0.5, 3.5, 0.05)
    level = -20 * np.log10(true.distance(true.emission_time(times)) / true.closest_m)
    return Track(times, true.pitch(times) + strays_hz, np.full(times.size, 0.05), level)


def test_the_level_may_choose_a_passing_within_the_doubt_of_the_fit() -> None:
    late = PassBy(300.0, 6.0, 2.0, 2.35, 343.2, 0.0, True)
    track = replace(_track(_incoherent((0,) * 5).passby), level_db=_track(late).level_db)
    # single frames stray as a hum's do, so that the level is asked
    track = replace(track, pitch_hz=track.pitch_hz + 1.5 * (-1.0) ** np.arange(track.times_s.size))
    sure, unsure = (_incoherent((0.2, 1.0, 0.4, u, 0.05)) for u in (0.02, 0.3))
    assert any("not loudest" in f for f in judge_shape(sure, track, -60.0, told=True).faults)
    assert judge_shape(unsure, track, -60.0, told=True).faults == ()
    # of what nobody says to be a wheel it may not
    assert any("not loudest" in f for f in judge_shape(unsure, track, -60.0).faults)


def test_strays_that_average_out_are_a_hum_s_and_strays_that_last_are_not() -> None:
    model = _incoherent((0.2, 1.0, 0.4, 0.05, 0.05))
    half = 300.0 * 6.0 / 343.2
    count = _track(model.passby).times_s.size
    rng = np.random.default_rng(1)
    restless = _track(model.passby, 0.6 * half * rng.standard_normal(count))
    lasting = _track(model.passby, 0.6 * half * np.sin(np.arange(count) / 5.0))
    assert lasting_share(model, restless) == pytest.approx(0.6 / np.sqrt(7), rel=0.4)
    assert lasting_share(model, lasting) == pytest.approx(0.6 / np.sqrt(2), rel=0.2)
    # with a level that says little more than that it rises and falls
    dull = [replace(t, level_db=0.25 * t.level_db) for t in (restless, lasting)]
    faults = [judge_shape(model, t, -60.0).faults for t in dull]
    assert not any("strays" in f for f in faults[0])
    assert any("strays" in f for f in faults[1])


def test_a_pitch_close_to_the_curve_needs_less_of_the_level() -> None:
    model = _incoherent((0.02, 0.1, 0.05, 0.01, 0.01))
    echoes = 7.5 * np.sin(2 * np.pi * 2.0 * _track(model.passby).times_s)
    close, far = (_track(model.passby, s) for s in (0.0, 1.5 * (-1.0) ** np.arange(60)))
    close, far = (replace(t, level_db=t.level_db + echoes) for t in (close, far))
    assert judge_shape(model, close, -60.0).faults == ()
    assert any("not loudest" in f for f in judge_shape(model, far, -60.0).faults)


def test_only_a_passing_heard_for_long_enough_before_and_after_may() -> None:
    model = _incoherent((0.02, 0.1, 0.05, 0.01, 0.01))
    whole = _track(model.passby)
    rough = whole.level_db + 5.0 * np.sin(3.0 * np.arange(whole.times_s.size))

    def faults(kept: np.ndarray) -> tuple[str, ...]:
        track = Track(whole.times_s[kept], whole.pitch_hz[kept], whole.u_hz[kept], rough[kept])
        return judge_shape(model, track, -60.0).faults

    every = np.ones(whole.times_s.size, dtype=bool)
    assert faults(every) == ()
    # the passing, at 2 s, is heard from a quarter of a crossing time before it on
    assert any("not loudest" in f for f in faults(whole.times_s > 1.92))
    # or in few frames
    assert any("not loudest" in f for f in faults(np.abs(whole.times_s - 2.0) < 0.65))
    # or it is faster than most riders
    quick = replace(model, passby=model.passby.with_(speed_mps=13.0, closest_m=2.0 * 13.0 / 6.0))
    track = replace(_track(quick.passby), level_db=rough)
    assert any("not loudest" in f for f in judge_shape(quick, track, -60.0).faults)


def test_a_level_that_hardly_rises_is_no_passing_s() -> None:
    model = _incoherent((0.02, 0.1, 0.05, 0.01, 0.01))
    track = _track(model.passby)
    flat, fair = (replace(track, level_db=share * track.level_db) for share in (0.3, 0.5))
    assert any("not loudest" in f for f in judge_shape(model, flat, -60.0).faults)
    assert judge_shape(model, fair, -60.0).faults == ()


def _vehicle(speed_mps: float) -> ModelFit:
    p = PassBy(300.0, speed_mps, 10.0, 2.0, 343.2)
    covariance = np.diag(np.square((0.02, 0.01 * speed_mps, 0.1, 0.01, 0.01)))
    return ModelFit(p, covariance, "incoherent", Unrest(walk=0.1), 0.0, np.zeros(5))


def test_beyond_forty_metres_a_second_pitch_and_level_must_both_agree() -> None:
    fast = _vehicle(60.0)
    track = _track(fast.passby)
    assert judge_shape(fast, track, -60.0).faults == ()
    dull = replace(track, level_db=0.1 * track.level_db)
    half = 300.0 * 60.0 / 343.2
    astray = replace(track, pitch_hz=track.pitch_hz + 0.2 * half * np.sin(track.times_s * 3.0))
    for doubtful in (dull, astray):
        assert any("further than any" in f for f in judge_shape(fast, doubtful, -60.0).faults)
    faster = _vehicle(110.0)
    assert any(
        "further than any" in f for f in judge_shape(faster, _track(faster.passby), -60.0).faults
    )


def test_a_fast_source_whose_pitch_keeps_exactly_to_the_curve_needs_less_of_the_level() -> None:
    model = _vehicle(20.0)
    times = _track(model.passby).times_s
    echoes = 3.0 * np.sin(2 * np.pi * 2.0 * times)
    half = 300.0 * 20.0 / 343.2
    exact, close = (
        _track(model.passby, stray * half * (-1.0) ** np.arange(times.size))
        for stray in (0.0, 0.04)
    )
    exact, close = (replace(t, level_db=t.level_db + echoes) for t in (exact, close))
    assert judge_shape(model, exact, -60.0).faults == ()
    assert any("not loudest" in f for f in judge_shape(model, close, -60.0).faults)


def test_a_fast_source_may_be_louder_ahead() -> None:
    """By the square of the Doppler factor (Morse and Ingard 1968, 11.2; memory)."""
    model = _vehicle(75.0)
    p = model.passby
    track = _track(p)
    half = 300.0 * 75.0 / 343.2
    # closely enough for a fast one, if the level agrees, not enough to do with less of it
    track = replace(
        track, pitch_hz=track.pitch_hz + 0.04 * half * (-1.0) ** np.arange(track.times_s.size)
    )
    doppler_db = 20 * np.log10(p.pitch(track.times_s) / p.source_hz)
    ahead, behind = (replace(track, level_db=track.level_db + n * doppler_db) for n in (2.0, -2.0))
    assert level_slope(model, ahead, -60.0)[1] < 0.92
    assert level_slope(model, ahead, -60.0, 2)[1] == pytest.approx(1.0, abs=1e-9)
    assert judge_shape(model, ahead, -60.0).faults == ()
    assert judge_shape(model, behind, -60.0).faults != ()


def test_a_level_that_follows_the_passing_closely_lets_a_fast_pitch_stray_more() -> None:
    model = _vehicle(60.0)
    track = _track(model.passby)
    half = 300.0 * 60.0 / 343.2

    def strayed(share: float) -> Track:
        strays = share * half * (-1.0) ** np.arange(track.times_s.size)
        return replace(track, pitch_hz=track.pitch_hz + strays)

    assert judge_shape(model, strayed(0.08), -60.0).faults == ()
    echoes = 5.0 * np.sin(2 * np.pi * 2.0 * track.times_s)
    rough = replace(strayed(0.08), level_db=track.level_db + echoes)
    for doubtful in (strayed(0.13), rough):
        assert any("further than any" in f for f in judge_shape(model, doubtful, -60.0).faults)


@pytest.mark.parametrize(("begin_s", "passes"), [(-0.8, False), (-1.2, True)])
def test_something_fast_is_heard_on_both_sides(begin_s: float, passes: bool) -> None:
    model = _vehicle(20.0)
    whole = _track(model.passby)
    # half a second to cross its distance of ten metres: two crossing times are one second
    kept = whole.times_s > model.passby.heard_passing_s + begin_s
    cut = Track(*(x[kept] for x in (whole.times_s, whole.pitch_hz, whole.u_hz, whole.level_db)))
    faults = judge_shape(model, cut, -60.0).faults
    assert any("on one side" in f for f in faults) != passes
    # a rider is believed with less
    assert judge_shape(replace(model, method="coherent"), cut, -60.0).faults == ()


@pytest.mark.parametrize(("u_s", "dated"), [(0.6, True), (0.7, False)])
def test_a_wavering_passing_whose_time_is_open_was_not_heard(u_s: float, dated: bool) -> None:
    # a third of a second to cross its distance of two metres
    model = _incoherent((0.2, 1.0, 0.4, u_s, 0.05))
    track = _track(model.passby)
    faults = judge_shape(model, track, -60.0).faults
    assert faults == (() if dated else (UNDATED,))
    assert UNDATED not in judge_shape(replace(model, method="coherent"), track, -60.0).faults


def test_a_phase_that_is_kept_may_tell_of_a_passing_left_out_but_not_of_one_at_any_time() -> None:
    kept = replace(_incoherent((0.2, 1.0, 0.4, 3.0, 0.05)), method="coherent")
    whole = _track(kept.passby)
    # a third of a second to cross its distance; three frames are left, too few to tell a level
    few = Track(*(x[:3] for x in (whole.times_s, whole.pitch_hz, whole.u_hz, whole.level_db)))
    open_ = replace(kept, covariance=np.diag(np.square((0.2, 1.0, 0.4, 4.0, 0.05))))
    for track in (whole, few):
        assert judge_shape(kept, track, -60.0).faults == ()
        assert judge_shape(open_, track, -60.0).faults == (UNDATED,)


def test_nothing_fast_passes_a_hand_s_breadth_away() -> None:
    covariance = np.diag(np.square((0.02, 0.2, 0.15, 0.01, 0.01)))
    for closest_m, possible in ((0.22, False), (0.5, True)):
        p = PassBy(300.0, 16.4, closest_m, 2.0, 343.2)
        model = ModelFit(p, covariance, "incoherent", Unrest(walk=0.1), 0.0, np.zeros(5))
        faults = judge_shape(model, _track(p), -60.0).faults
        assert any("possible distance" in f for f in faults) != possible


def test_what_is_heard_in_snatches_must_follow_the_passing_closely() -> None:
    model = _incoherent((0.2, 1.0, 0.02, 0.02, 0.05))
    whole = _track(model.passby)
    # three frames of ten are lost, as between the sounds of a voice
    there = np.arange(whole.times_s.size) % 10 < 7
    parts = (whole.times_s, whole.pitch_hz, whole.u_hz, whole.level_db)
    snatches = Track(*(part[there] for part in parts))
    assert 0.6 < heard_share(model, snatches) < 0.75
    rough = replace(
        snatches, level_db=snatches.level_db + 3.5 * np.sin(2 * np.pi * 2.0 * snatches.times_s)
    )
    assert 0.85 < level_slope(model, rough, -60.0)[1] < 0.95
    assert judge_shape(model, snatches, -60.0).faults == ()
    assert any("comes and goes" in f for f in judge_shape(model, rough, -60.0).faults)
    all_along = replace(
        whole, level_db=whole.level_db + 3.5 * np.sin(2 * np.pi * 2.0 * whole.times_s)
    )
    assert judge_shape(model, all_along, -60.0).faults == ()


def test_a_fast_source_rises_and_falls_by_some_of_what_distance_makes() -> None:
    model = _vehicle(23.0)
    track = _track(model.passby)
    echoes = 1.2 * np.sin(2 * np.pi * 2.0 * track.times_s)
    flat = replace(track, level_db=0.33 * track.level_db + echoes)
    slope, correlation, _ = level_slope(model, flat, -60.0)
    assert slope < 0.4
    assert 0.75 < correlation < 0.93
    assert any("not loudest" in f for f in judge_shape(model, flat, -60.0).faults)
    rising = replace(track, level_db=track.level_db + 3.6 * echoes / 1.2)
    assert judge_shape(model, rising, -60.0).faults == ()


@pytest.mark.parametrize("first", [0.03, 0.055, 0.1])
def test_a_shorter_frame_at_either_end_makes_no_gaps(first: float) -> None:
    # frames are centred on the passing; what is left at the ends is as long as it comes
    model = _incoherent((0.2, 1.0, 0.02, 0.02, 0.05))
    p = model.passby
    inner = p.heard_passing_s + 0.1 * np.arange(-15, 16)
    times = np.concatenate([[inner[0] - first], inner, [inner[-1] + 0.06]])
    track = Track(times, p.pitch(times), np.full(times.size, 0.1), np.zeros(times.size))
    assert heard_share(model, track) == 1.0
    snatched = np.delete(np.arange(times.size), slice(5, 27, 3))
    some = Track(*(part[snatched] for part in (times, track.pitch_hz, track.u_hz, track.level_db)))
    assert heard_share(model, some) == pytest.approx(2 / 3, abs=0.06)


def test_a_tone_known_as_one_may_keep_to_its_curve_in_few_frames_over_hard_ground() -> None:
    hum = _incoherent((0.2, 0.1, 0.02, 0.02, 0.05))
    p = hum.passby.with_(speed_tied=False)
    model = replace(hum, passby=p)
    times = p.heard_passing_s + 0.075 * np.arange(-6, 7)
    level = -20.0 * np.log10(p.distance(p.emission_time(times)) / p.closest_m)
    upset = level + 1.2 * np.cos(np.arange(13) * 2.0)
    track = Track(times, p.pitch(times), np.full(13, 0.1), upset)
    assert 0.86 < level_slope(model, track, -60.0)[1] < 0.94
    assert judge_shape(model, track, -60.0, told=True).faults == ()
    assert BRIEF in judge_shape(model, track, -60.0).faults
    # a hum, one whose speed is open, or whose pitch strays, is not so plain
    assert BRIEF in judge_shape(hum, track, -60.0, told=True).faults
    unsure = replace(_incoherent((0.2, 1.0, 0.02, 0.02, 0.05)), passby=p)
    assert BRIEF in judge_shape(unsure, track, -60.0, told=True).faults
    strays = replace(track, pitch_hz=track.pitch_hz + 0.5 * (-1.0) ** np.arange(13))
    assert BRIEF in judge_shape(model, strays, -60.0, told=True).faults
