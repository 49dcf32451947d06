"""From a request to a plan: pitches, windows, glide, markers and microphone."""

from __future__ import annotations

import math

import numpy as np

from wayside.physics.passby import FloatArray, PassBy, speed_from_limits
from wayside.plan.advice import safety_of, warnings_of
from wayside.plan.criteria import (
    CLEAR_STEPS,
    FAR_MULTIPLE,
    NOTICEABLE,
    READ_CYCLES,
    RECORD_MULTIPLE,
    SHORTEST_GLIDE_S,
    SHORTEST_READ_S,
)
from wayside.plan.request import PlanRequest
from wayside.plan.result import Offset, Plan, SpeedCase, Timing, Window

_POINTS = 401


def make_plan(request: PlanRequest) -> Plan:
    """Work out a plan."""
    low, high = request.speed_low_mps, request.speed_high_mps
    speeds = (low, 0.5 * (low + high), high) if high > low else (high,)
    cases = tuple(speed_case(request, v) for v in speeds)
    offset = microphone_offset(request, cases)
    audible = audible_speed(request.sound_speed_mps)
    return Plan(
        request,
        cases,
        tuple(timing(request, rate) for rate in request.frame_rates),
        frame_rate_needed(request),
        audible,
        offset,
        warnings_of(request, cases, audible),
        safety_of(request),
    )


def speed_case(request: PlanRequest, speed_mps: float) -> SpeedCase:
    """Return what to expect at one speed."""
    p = PassBy(
        request.source_hz(speed_mps),
        speed_mps,
        request.closest_m,
        0.0,
        request.sound_speed_mps,
    )
    approach = _window(p, -request.before_m, -FAR_MULTIPLE * p.closest_m)
    recede = _window(p, FAR_MULTIPLE * p.closest_m, request.after_m)
    ratio = p.approach_hz / p.recede_hz
    times = heard_times(p, np.linspace(-request.before_m, request.after_m, _POINTS))
    return SpeedCase(
        p,
        1200.0 * math.log2(ratio),
        12.0 * math.log2(ratio),
        100.0 * (1.0 - 1.0 / ratio),
        math.log(ratio) / math.log1p(NOTICEABLE),
        glide_time(p),
        approach,
        recede,
        read_length(p),
        _read_error(p, approach, recede),
        times,
        p.pitch(times),
    )


def heard_times(p: PassBy, positions_m: FloatArray) -> FloatArray:
    """Return when the sound sent out at these positions is heard (s), any shape."""
    return p.arrival_time(p.passing_time_s + positions_m / p.speed_mps)


def glide_time(p: PassBy) -> float:
    """Return how long the middle 80 % of the drop takes (s).

    With ``f = alpha + beta T/sqrt(s^2 + T^2)`` the drop runs from 10 to 90 % while
    ``|T| < 4 s/3``, ``s = d sqrt(c^2 - v^2)/(v c)`` (see docs/theory).
    """
    c, v = p.sound_speed_mps, p.speed_mps
    s = p.closest_m * math.sqrt(c * c - v * v) / (v * c)
    return 2.0 * 4.0 / 3.0 * s


def audible_speed(sound_speed_mps: float) -> float:
    """Return the speed from which the drop is clearly heard (m/s)."""
    ratio = math.pow(1.0 + NOTICEABLE, CLEAR_STEPS)
    return sound_speed_mps * (ratio - 1.0) / (ratio + 1.0)


def read_length(p: PassBy) -> float:
    """Return how long a reading window must be (s)."""
    return max(SHORTEST_READ_S, READ_CYCLES / (p.approach_hz - p.recede_hz))


def timing(request: PlanRequest, frame_rate: float) -> Timing:
    """Return what a frame rate asks of the markers.

    Each crossing lies anywhere within one frame (rectangular, JCGM 100:2008, 4.3.7), so their
    difference has ``u_t = 1/(R sqrt(6))`` and ``(u_v/v)^2 = (u_D/D)^2 + (v u_t/D)^2``.
    """
    v = request.speed_high_mps
    slack = math.hypot(request.tape_u_m, v / (frame_rate * math.sqrt(6.0)))
    needed = 100.0 * slack / request.wanted_percent
    reached = None if request.markers_m is None else 100.0 * slack / request.markers_m
    return Timing(frame_rate, needed, reached)


def frame_rate_needed(request: PlanRequest) -> float | None:
    """Return the frame rate needed with the markers as they are; None if they are not fixed."""
    if request.markers_m is None:
        return None
    allowed = 0.01 * request.wanted_percent * request.markers_m
    left = allowed**2 - request.tape_u_m**2
    return request.speed_high_mps / math.sqrt(6.0 * left) if left > 0 else math.inf


def microphone_offset(request: PlanRequest, cases: tuple[SpeedCase, ...]) -> Offset:
    """Return where the microphone should stand for the whole range of speeds."""
    shorter = min(request.before_m, request.after_m)
    nearest = max(1.0, SHORTEST_GLIDE_S * request.speed_high_mps * 3.0 / 8.0)
    room = min(shorter - case.passby.speed_mps * case.needed_s for case in cases)
    furthest = max(0.0, room / FAR_MULTIPLE)
    if furthest < nearest:
        return Offset(
            nearest,
            furthest,
            None,
            "The run is too short for any distance: make it longer or ride slower.",
        )
    best = min(max(shorter / RECORD_MULTIPLE, nearest), furthest)
    return Offset(
        nearest,
        furthest,
        best,
        "Near enough for far pitches within the run, far enough for a glide that can be heard.",
    )


def _window(p: PassBy, start_m: float, stop_m: float) -> Window | None:
    if stop_m <= start_m:
        return None
    start, stop = (float(t) for t in heard_times(p, np.array([start_m, stop_m])))
    return Window(start, stop, start_m, stop_m)


def _read_error(p: PassBy, approach: Window | None, recede: Window | None) -> float | None:
    if approach is None or recede is None:
        return None
    read = [
        float(np.mean(p.pitch(np.linspace(w.start_s, w.stop_s, _POINTS))))
        for w in (approach, recede)
    ]
    speed, _ = speed_from_limits(read[0], read[1], p.sound_speed_mps)
    return 100.0 * (speed / p.speed_mps - 1.0)
