"""What will not work, what to change, and what can hurt."""

from __future__ import annotations

from wayside.plan.criteria import HIGH_HZ, LOW_HZ, SHORTEST_GLIDE_S
from wayside.plan.request import PlanRequest
from wayside.plan.result import SpeedCase

FAST_MPS = 8.0
"""Speed from which a rider is told to mind the run-out (m/s; common practice, no source)."""


def warnings_of(
    request: PlanRequest, cases: tuple[SpeedCase, ...], audible_mps: float
) -> tuple[str, ...]:
    """Return one sentence on each thing that will not work, most important first."""
    slowest, fastest = cases[0], cases[-1]
    found = [
        *_hearing(slowest, audible_mps),
        *_windows(request, cases),
        *_glide(request, fastest),
        *_pitch(request, slowest, fastest),
        *_timing(request),
    ]
    return tuple(found)


def safety_of(request: PlanRequest) -> tuple[str, ...]:
    """Return the cautions that go with every demonstration."""
    return cautions(request.pitch_hz is not None, request.speed_high_mps > FAST_MPS)


def cautions(loud: bool, fast: bool) -> tuple[str, ...]:
    """Return what can hurt.

    Parameters
    ----------
    loud : bool
        True where a horn, buzzer or whistle may sound.
    fast : bool
        True above `FAST_MPS`.
    """
    found = [
        "Keep off public roads; have a clear run-out after the last marker, a helmet and a "
        "spotter.",
        "Nobody stands on the line of travel; the microphone may stand there alone.",
    ]
    if loud:
        found.append("Loud horns and whistles need hearing protection close by.")
    if fast:
        found.append("Ride no faster than the rider's skill and the run-out allow.")
    found.append("Local rules and the school's own risk assessment prevail.")
    return tuple(found)


def _hearing(slowest: SpeedCase, audible_mps: float) -> list[str]:
    steps, speed = slowest.noticeable_steps, slowest.passby.speed_mps
    if steps < 1.0:
        return [
            f"At {speed:.3g} m/s the drop is below what an ear notices; ride faster than "
            f"{audible_mps:.1f} m/s to make it obvious (it can still be measured)."
        ]
    if speed < audible_mps:
        return [
            f"At {speed:.3g} m/s the drop is only {steps:.1f} times the smallest noticeable "
            f"step; ride faster than {audible_mps:.1f} m/s to make it obvious."
        ]
    return []


def _windows(request: PlanRequest, cases: tuple[SpeedCase, ...]) -> list[str]:
    found = []
    for name, run in (("before", request.before_m), ("after", request.after_m)):
        windows = [(c.approach if name == "before" else c.recede, c) for c in cases]
        short = [(w, c) for w, c in windows if w is not None and w.length_s < c.needed_s]
        if any(w is None for w, _ in windows):
            found.append(
                f"The run {name} the microphone ({run:g} m) ends before the pitch is steady; "
                "move the microphone closer to the track or lengthen the run."
            )
        elif short:
            window, case = min(short, key=lambda pair: pair[0].length_s / pair[1].needed_s)
            found.append(
                f"At {case.passby.speed_mps:.3g} m/s the pitch {name} the passing is steady for "
                f"only {window.length_s:.2f} s, where {case.needed_s:.2f} s are needed to read it; "
                "lengthen the run or move the microphone closer."
            )
    return found


def _glide(request: PlanRequest, fastest: SpeedCase) -> list[str]:
    found = []
    if fastest.glide_s < SHORTEST_GLIDE_S:
        found.append(
            f"The microphone is so close that the pitch drops in {fastest.glide_s:.2f} s and is "
            "heard as a jump; move it back to hear a glide."
        )
    if request.closest_m < 1.0:
        found.append(
            "Less than 1 m from the track the sound may overload the microphone, and the rider "
            "passes too close; move it back."
        )
    return found


def _pitch(request: PlanRequest, slowest: SpeedCase, fastest: SpeedCase) -> list[str]:
    low, high = slowest.passby.source_hz, fastest.passby.source_hz
    if low < LOW_HZ:
        more = (
            f"ride faster than {LOW_HZ / request.cycles_per_metre:.1f} m/s or use a finer tread"
            if request.cycles_per_metre
            else "use a higher tone"
        )
        return [
            f"A pitch of {low:.0f} Hz is weak in phone microphones and hard to hear; {more}, or "
            "measure a harmonic."
        ]
    if high > HIGH_HZ:
        return [f"A pitch of {high:.0f} Hz is hard to judge by ear; use a lower tone."]
    return []


def _timing(request: PlanRequest) -> list[str]:
    if request.markers_m is None:
        return []
    if 100.0 * request.tape_u_m / request.markers_m >= request.wanted_percent:
        return [
            "With these markers the tape alone spoils the wanted uncertainty, whatever the "
            "camera; set them further apart or measure them better."
        ]
    return []
