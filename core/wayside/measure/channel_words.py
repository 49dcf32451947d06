"""What two channels say about a measured pass-by, in sentences."""

from __future__ import annotations

import math

from numpy.linalg import LinAlgError

from wayside.hand import digits
from wayside.jobs import Job
from wayside.measure.channels import Channels, check_channels
from wayside.measure.fitted import Choice
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import Priors
from wayside.measure.refine import Refined
from wayside.measure.result import Fit, Measurement
from wayside.measure.stereo import channels_between
from wayside.measure.swing import Swing
from wayside.quantity import Quantity
from wayside.sound.recording import Recording

MOST_AIM_RAD = math.radians(35.0)
TOGETHER = (
    "Both channels are measured together as heard midway between the microphones: one is read a "
    "little earlier and the other a little later, by half the time between them."
)
SIDES = ("channel 1 (left)", "channel 2 (right)")


def told_by_channels(
    recording: Recording,
    found: Refined,
    choice: Choice,
    m: Measurement,
    options: MeasureOptions,
    job: Job,
) -> tuple[str, ...]:
    """Return sentences on what the first two channels say, none where they hold one sound.

    Parameters
    ----------
    recording : Recording
    found : Refined
        The pass-by found in the channels together.
    choice : Choice
        Its final fits.
    m : Measurement
        What was measured in it.
    options : MeasureOptions
    job : Job
    """
    sounds = None if m.fit is None else channels_between(recording, m.start_s, m.stop_s)
    if m.fit is None or sounds is None:
        return ()
    priors = Priors.from_options(options)
    try:
        check = check_channels(sounds, found, choice, priors, job)
    except LinAlgError:
        return ()
    together = () if m.midway is None else (TOGETHER,)
    return (*together, *_speeds(check), _direction(check.swing, m.fit))


def _speeds(check: Channels) -> tuple[str, ...]:
    one, other = check.alone
    if one is None or other is None:
        return ("Only one of the two channels can be measured alone: compare them by ear.",)
    a, b = (Quantity(m.passby.speed_mps, m.u(1), "m/s") for m in (one, other))
    said = f"{digits.full_text(a)} and {digits.full_text(b)}, uncertainty of the air left out"
    if abs(a.value - b.value) <= 2.0 * math.hypot(a.u, b.u):
        return (f"Each channel alone gives the same speed ({said}).",)
    return (
        f"The two channels alone give different speeds ({said}): an echo or a second sound is "
        "stronger on one side.",
    )


def _direction(swing: Swing, fit: Fit) -> str:
    if not swing.seen:
        return (
            "Both channels hear the source at the same time all along, so they cannot tell its "
            "side or check when it passed."
        )
    if swing.turned_rad > 0.0:
        return (
            "The time between the two channels hardly changes while the source passes: the "
            "camera was turned after it. That changes the level and leaves the pitch alone."
        )
    first, last = SIDES if swing.lead_s > 0 else SIDES[::-1]
    p = fit.passby
    later = p.closest_m / p.speed_mps * math.tan(swing.aim_rad)
    slope = p.closest_m / p.speed_mps / math.cos(swing.aim_rad) ** 2
    at = Quantity(p.passing_time_s + later, slope * swing.u_aim_rad, "s")
    seen = (
        f"The source comes from the side of {first} and goes to that of {last}; by the time "
        f"between them it is straight ahead at {digits.full_text(at)}"
    )
    u_aim = math.hypot(swing.u_aim_rad, fit.passing_time_s.u / slope)
    if abs(swing.aim_rad) <= MOST_AIM_RAD + 2.0 * u_aim:
        return f"{seen}, which fits the passing time by pitch."
    return (
        f"{seen}, which does not fit the passing time by pitch ({fit.passing_time_s.value:.2f} s) "
        "unless the camera looked along the track: an echo or a second sound may mislead."
    )
