"""What a simulated recording holds: sources, microphone, ground, background, recorder.

Everything is a frozen value, so a scene and a seed name one recording exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from wayside.errors import InputError
from wayside.physics.passby import PassBy

PAN_MODES = ("fixed", "follow")
WANDER_MODES = ("timing", "independent")


@dataclass(frozen=True)
class Source:
    """One sounding thing on the track.

    Parameters
    ----------
    passby : PassBy
        Its motion and pitch.
    harmonics : tuple of float
        Relative amplitudes of harmonic 1, 2, 3 …; only their ratios matter.
    level_rms : float
        RMS of the whole tone at the closest point, full scale 1, ground reflection apart.
    coherence_s : float
        Coherence time Tc of the source (s): its phase does a random walk with
        ``E[exp(j (phi(tau + dt) - phi(tau)))] = exp(-|dt|/Tc)`` in the source's own time.
    wander : str
        ``"timing"``: harmonic k wanders k times as far (the pattern is late or early as a
        whole); ``"independent"``: each harmonic wanders by itself with the same Tc.
    drift_per_s : float
        How fast the pitch of the source itself changes, as a fraction of it a second (1/s); the
        pass-by's pitch is that at the closest point.
    wobble : float
        Standard deviation of a slow random change of speed, as a fraction of the speed.
    wobble_period_s : float
        Typical period of that change (s).
    weave_m : float
        Standard deviation of a slow random change of the place across the track (m), which is
        none at the passing.
    weave_period_s : float
        Typical period of that change (s).
    rider : int or None
        Sources of the same rider change speed together, as the wheels of a bicycle; None: by
        itself.
    on_s, off_s : float
        Emission times between which the source sounds (s).
    direction : int
        +1 or -1: the way along the track; matters to stereo, wind and film only.
    height_m : float
        Height of the source over the ground (m); matters to the ground reflection only.
    hiss_tnr_db : float or None
        Tone power over the power of a broadband hiss from the same source (dB).
    """

    passby: PassBy
    harmonics: tuple[float, ...] = (1.0,)
    level_rms: float = 0.1
    coherence_s: float = math.inf
    wander: str = "timing"
    drift_per_s: float = 0.0
    wobble: float = 0.0
    wobble_period_s: float = 4.0
    weave_m: float = 0.0
    weave_period_s: float = 2.5
    rider: int | None = None
    on_s: float = -math.inf
    off_s: float = math.inf
    direction: int = 1
    height_m: float = 0.6
    hiss_tnr_db: float | None = None

    def __post_init__(self) -> None:
        p = self.passby
        _positive("source pitch", p.source_hz, "Hz")
        _positive("speed", p.speed_mps, "m/s")
        _positive("distance to the track", p.closest_m, "m")
        _positive("speed of sound", p.sound_speed_mps, "m/s")
        _positive("level", self.level_rms)
        if p.speed_mps >= p.sound_speed_mps:
            raise InputError(
                f"The speed, {p.speed_mps:g} m/s, is not below the speed of sound, "
                f"{p.sound_speed_mps:g} m/s; give a slower source."
            )
        if not self.harmonics or not any(self.harmonics):
            raise InputError("The source has no harmonic that sounds; give one amplitude above 0.")
        if not all(math.isfinite(a) for a in self.harmonics):
            raise InputError("A harmonic amplitude is not a number; give finite amplitudes.")
        if not self.coherence_s > 0:
            raise InputError(
                f"The coherence time, {self.coherence_s:g} s, must be above 0; "
                "leave it out for a steady tone."
            )
        if not 0 <= self.wobble <= 0.2:
            raise InputError(
                f"The speed wobble, {self.wobble:g}, must be between 0 and 0.2 of the speed."
            )
        if not 0 <= self.weave_m <= 0.3 * p.closest_m:
            raise InputError(
                f"The weave, {self.weave_m:g} m, must be between 0 and 0.3 of the distance."
            )
        if self.wander not in WANDER_MODES:
            raise InputError(f"The wander mode must be one of {', '.join(WANDER_MODES)}.")
        if self.direction not in (-1, 1):
            raise InputError("The direction along the track must be 1 or -1.")

    @property
    def kind(self) -> str:
        """``"wheel"`` when the pitch follows the speed, else ``"tone"``."""
        return "wheel" if self.passby.speed_tied else "tone"


@dataclass(frozen=True)
class Microphone:
    """The camera's microphone, at the origin of the track.

    Parameters
    ----------
    channels : int
        1, or 2 for a pair set along the track.
    spacing_m : float
        Distance between the pair (m).
    height_m : float
        Height over the ground (m); matters to the ground reflection only.
    directivity : float
        0 hears all round; 0.5 is a cardioid: gain (1 - q) + q cos(angle off axis).
    pan : str
        ``"fixed"``, or ``"follow"``: the camera turns after the source, up to 60° each way.
    arm_m : float
        Distance of the microphone from the axis the camera turns about (m).
    """

    channels: int = 1
    spacing_m: float = 0.0
    height_m: float = 1.2
    directivity: float = 0.0
    pan: str = "fixed"
    arm_m: float = 0.0

    def __post_init__(self) -> None:
        if self.channels not in (1, 2):
            raise InputError(f"{self.channels} channels were asked for; choose 1 or 2.")
        if not 0 <= self.directivity <= 0.5:
            raise InputError("The microphone's directivity must be between 0 and 0.5.")
        if self.pan not in PAN_MODES:
            raise InputError(f"The camera must be one of {', '.join(PAN_MODES)}.")


@dataclass(frozen=True)
class Background:
    """Sound that does not come from the pass-by.

    Each level is the power of the first source's tone at its closest point over the power of
    that background in the full band (dB); None leaves it out.

    Parameters
    ----------
    white_tnr_db, wind_tnr_db, traffic_tnr_db, hum_tnr_db : float or None
        White noise, wind on the microphone, distant road traffic, mains hum.
    hum_hz : float
        Mains frequency (Hz); the hum holds its first `hum_harmonics` harmonics.
    hum_harmonics : int
        How many.
    """

    white_tnr_db: float | None = None
    wind_tnr_db: float | None = None
    traffic_tnr_db: float | None = None
    hum_tnr_db: float | None = None
    hum_hz: float = 50.0
    hum_harmonics: int = 6


@dataclass(frozen=True)
class Recorder:
    """What the phone does to the sound.

    Parameters
    ----------
    automatic_gain : bool
        Slow automatic gain: loud stretches are turned down within 10 ms, quiet ones turned
        up over about half a second.
    clip_at : float or None
        Hard clipping at this fraction of the recording's own peak.
    """

    automatic_gain: bool = False
    clip_at: float | None = None

    def __post_init__(self) -> None:
        if self.clip_at is not None and not 0 < self.clip_at <= 1:
            raise InputError("Clipping must be at a fraction of the peak between 0 and 1.")


@dataclass(frozen=True)
class Scene:
    """One simulated recording, apart from its random numbers.

    Parameters
    ----------
    sources : tuple of Source
        At least one; out and back is two sources.
    duration_s, rate_hz : float
        Length (s) and sample rate (Hz).
    microphone, background, recorder
        See there.
    ground_reflection : float
        Pressure reflection coefficient of the ground, -1 to 1; 0 for none.
    wind_mps : float
        Steady wind along the track, positive with direction +1 (m/s).
    convective : bool
        Whether a moving source is louder ahead than behind. A moving monopole of fixed
        volume acceleration has pressure ~ (1/r) (dtau/dt)^2, that is
        1/(r (1 - M cos theta)^2) (Morse and Ingard, Theoretical Acoustics, section 11.2).
    """

    sources: tuple[Source, ...]
    duration_s: float
    rate_hz: float = 48000.0
    microphone: Microphone = field(default_factory=Microphone)
    background: Background = field(default_factory=Background)
    recorder: Recorder = field(default_factory=Recorder)
    ground_reflection: float = 0.0
    wind_mps: float = 0.0
    convective: bool = True

    def __post_init__(self) -> None:
        if not self.sources:
            raise InputError("The scene has no source; give at least one.")
        if not 8000 <= self.rate_hz <= 192000:
            raise InputError(
                f"The sample rate, {self.rate_hz:g} Hz, must be between 8000 and 192000 Hz."
            )
        if not 0.05 <= self.duration_s <= 3600:
            raise InputError(
                f"The duration, {self.duration_s:g} s, must be between 0.05 s and one hour."
            )
        if not -1 <= self.ground_reflection <= 1:
            raise InputError("The ground's reflection coefficient must be between -1 and 1.")
        for source in self.sources:
            _check_motion(source, self.duration_s, self.rate_hz)
        if not abs(self.wind_mps) < 40:
            raise InputError(f"The wind, {self.wind_mps:g} m/s, must be below 40 m/s.")

    @property
    def n_samples(self) -> int:
        """Number of samples a channel."""
        return round(self.duration_s * self.rate_hz)

    def with_(self, **changes: object) -> Scene:
        """Return a copy with some fields replaced."""
        return replace(self, **changes)  # type: ignore[arg-type]


def simple_scene(
    passby: PassBy,
    duration_s: float,
    rate_hz: float = 48000.0,
    harmonics: tuple[float, ...] = (1.0,),
    white_tnr_db: float | None = None,
) -> Scene:
    """Return a coherent source passing an all-round microphone in white noise."""
    return Scene(
        sources=(Source(passby, harmonics),),
        duration_s=duration_s,
        rate_hz=rate_hz,
        background=Background(white_tnr_db=white_tnr_db),
    )


def _positive(name: str, value: float, unit: str = "") -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"The {name}, {value:g} {unit}".rstrip() + ", must be above 0.")


def _check_motion(source: Source, duration_s: float, rate_hz: float) -> None:
    p = source.passby
    # the first sound heard left the source earlier than the recording's start
    first = float(p.emission_time(0.0)) if not p.acceleration_mps2 else -p.passing_time_s
    for tau in (first, duration_s):
        v = float(p.velocity(tau))
        if not 0 < v < p.sound_speed_mps:
            raise InputError(
                f"With an acceleration of {p.acceleration_mps2:g} m/s² the source would move at "
                f"{v:.3g} m/s at {tau:.3g} s; give a smaller acceleration or a shorter recording."
            )
    if p.approach_hz >= rate_hz / 2:
        raise InputError(
            f"The pitch on approach, {p.approach_hz:.0f} Hz, is above half the sample rate; "
            "give a lower pitch or a higher sample rate."
        )
