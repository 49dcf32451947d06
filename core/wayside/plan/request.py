"""What is known before the demonstration: source, speeds, place."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wayside.errors import InputError, SetupError
from wayside.physics.air import ideal_gas

_LIMITS = (
    ("speed_low_mps", "lower speed", 0.05, 1000.0, "m/s"),
    ("speed_high_mps", "higher speed", 0.05, 1000.0, "m/s"),
    ("closest_m", "distance to the track", 0.05, 1000.0, "m"),
    ("before_m", "run before the microphone", 0.5, 10_000.0, "m"),
    ("after_m", "run after the microphone", 0.5, 10_000.0, "m"),
    ("pitch_hz", "pitch", 1.0, 100_000.0, "Hz"),
    ("cycles_per_metre", "number of pattern elements", 0.01, 10_000.0, "per metre"),
    ("sound_speed_mps", "speed of sound", 250.0, 450.0, "m/s"),
    ("wanted_percent", "wanted uncertainty", 0.01, 50.0, "%"),
    ("tape_u_m", "uncertainty of the tape", 0.0, 10.0, "m"),
    ("markers_m", "distance between the markers", 0.1, 10_000.0, "m"),
)


@dataclass(frozen=True)
class PlanRequest:
    """A demonstration to be planned.

    Exactly one of `pitch_hz` and `cycles_per_metre` is given.

    Parameters
    ----------
    speed_low_mps, speed_high_mps : float
        Speeds the source may have (m/s).
    closest_m : float
        Distance from microphone to track (m).
    before_m, after_m : float
        Length of track before and after the microphone on which the source runs at constant
        speed and can be heard (m).
    pitch_hz : float or None
        Fixed pitch of the source (Hz).
    cycles_per_metre : float or None
        Pattern elements per metre, for a wheel (1/m).
    sound_speed_mps : float
        Speed of sound (m/s); 20 °C by default.
    wanted_percent : float
        Standard uncertainty of the speed to aim for (%).
    tape_u_m : float
        Standard uncertainty of the marker distance (m).
    markers_m : float or None
        Distance between the markers, if it is already fixed (m).
    frame_rates : tuple of float
        Frame rates the camera offers (1/s).

    Raises
    ------
    InputError
        If anything is missing or absurd; a `SetupError` whose `field` names the parameter where
        one is to blame.
    """

    speed_low_mps: float
    speed_high_mps: float
    closest_m: float
    before_m: float
    after_m: float
    pitch_hz: float | None = None
    cycles_per_metre: float | None = None
    sound_speed_mps: float = ideal_gas(20.0)
    wanted_percent: float = 2.0
    tape_u_m: float = 0.02
    markers_m: float | None = None
    frame_rates: tuple[float, ...] = (30.0, 60.0, 120.0, 240.0)

    def __post_init__(self) -> None:
        if (self.pitch_hz is None) == (self.cycles_per_metre is None):
            raise InputError(
                "Give either the pitch of the source or the pattern elements per metre."
            )
        for name, label, low, high, unit in _LIMITS:
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and low <= value <= high):
                raise SetupError(
                    f"The {label} is {value:g} {unit}, but must lie between {low:g} and "
                    f"{high:g} {unit}.",
                    name,
                )
        if self.speed_low_mps > self.speed_high_mps:
            raise SetupError(
                "The lower speed is above the higher one; swap the two.", "speed_high_mps"
            )
        if self.speed_high_mps >= 0.9 * self.sound_speed_mps:
            raise SetupError(
                "The source would be nearly as fast as sound; give lower speeds.", "speed_high_mps"
            )
        if not self.frame_rates or any(not 1 <= r <= 1e5 for r in self.frame_rates):
            raise SetupError(
                "Give frame rates between 1 and 100000 frames a second.", "frame_rates"
            )
        if self.markers_m is not None and self.markers_m > self.before_m + self.after_m:
            raise SetupError("The markers are further apart than the run is long.", "markers_m")

    def source_hz(self, speed_mps: float) -> float:
        """Return the source pitch at that speed (Hz)."""
        if self.pitch_hz is not None:
            return self.pitch_hz
        assert self.cycles_per_metre is not None
        return self.cycles_per_metre * speed_mps
