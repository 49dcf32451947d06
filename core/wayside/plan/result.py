"""What a plan holds: plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from wayside.physics.passby import FloatArray, PassBy
from wayside.plan.request import PlanRequest


@dataclass(frozen=True)
class Window:
    """A stretch in which a far pitch can be read.

    Parameters
    ----------
    start_s, stop_s : float
        When its sound is heard, counted from when the source passes (s).
    start_m, stop_m : float
        Where the source is then, counted from the closest point (m).
    """

    start_s: float
    stop_s: float
    start_m: float
    stop_m: float

    @property
    def length_s(self) -> float:
        """Length (s)."""
        return self.stop_s - self.start_s


@dataclass(frozen=True)
class SpeedCase:
    """What to expect at one speed.

    Parameters
    ----------
    passby : PassBy
        The pass-by, passing at time 0.
    drop_cents, drop_semitones, drop_percent : float
        From approach to recede.
    noticeable_steps : float
        The drop in just-noticeable differences.
    glide_s : float
        Time in which the middle 80 % of the drop is heard (s).
    approach, recede : Window or None
        Where the far pitches can be read; None if the run is too short.
    needed_s : float
        How long such a window must be to read the pitch in it (s).
    read_speed_percent : float or None
        Error of the speed worked out from these two windows, because they are not infinitely
        far away (%).
    times_s, pitch_hz : ndarray, shape (n,)
        The expected pitch curve.
    """

    passby: PassBy
    drop_cents: float
    drop_semitones: float
    drop_percent: float
    noticeable_steps: float
    glide_s: float
    approach: Window | None
    recede: Window | None
    needed_s: float
    read_speed_percent: float | None
    times_s: FloatArray
    pitch_hz: FloatArray


@dataclass(frozen=True)
class Timing:
    """What a frame rate asks of the markers, at the highest speed.

    Parameters
    ----------
    frame_rate : float
        Frames a second.
    markers_m : float
        Marker distance needed for the wanted uncertainty of the speed (m).
    percent : float or None
        Uncertainty reached with the markers as they are (%); None if they are not fixed yet.
    """

    frame_rate: float
    markers_m: float
    percent: float | None


@dataclass(frozen=True)
class Offset:
    """Where the microphone should stand.

    Parameters
    ----------
    nearest_m, furthest_m : float
        Useful distances to the track (m); furthest < nearest if the run is too short.
    best_m : float or None
        Proposed distance (m).
    reason : str
    """

    nearest_m: float
    furthest_m: float
    best_m: float | None
    reason: str


@dataclass(frozen=True)
class Plan:
    """A planned demonstration.

    Parameters
    ----------
    request : PlanRequest
    cases : tuple of SpeedCase
        At the lowest, middle and highest speed (one if they are the same).
    timing : tuple of Timing
        By frame rate.
    frame_rate_needed : float or None
        Frames a second needed with the markers as they are; inf if no frame rate will do.
    audible_speed_mps : float
        Speed from which the drop is clearly heard (m/s).
    offset : Offset
    warnings : tuple of str
        What will not work, and what to change.
    safety : tuple of str
        Cautions.
    """

    request: PlanRequest
    cases: tuple[SpeedCase, ...]
    timing: tuple[Timing, ...]
    frame_rate_needed: float | None
    audible_speed_mps: float
    offset: Offset
    warnings: tuple[str, ...]
    safety: tuple[str, ...]
