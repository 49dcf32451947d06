"""What a measurement returns: plain frozen values, one shape for every caller."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from wayside.measure.intervals import Interval
from wayside.measure.midway import Midway
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]

# what a fit gives, in the order in which it is told, and its name
FITTED = (
    ("speed_mps", "speed"),
    ("source_hz", "source pitch"),
    ("approach_hz", "approach pitch"),
    ("recede_hz", "recede pitch"),
    ("closest_m", "closest distance"),
    ("passing_time_s", "passing time"),
    ("acceleration_mps2", "acceleration"),
)

FIT_PARAMETERS = ("source_hz", "speed_mps", "closest_m", "passing_time_s")
"""What a fit's covariance is of, in its order."""


@dataclass(frozen=True)
class Detection:
    """The evidence for a pass-by.

    Parameters
    ----------
    statistic, threshold : float
        A pass-by is claimed when statistic >= threshold (and the shape tests pass).
    false_alarm_rate : float
        Stated rate per recording of noise at which the threshold is exceeded.
    reason : str
        One sentence: why found or why not.
    """

    statistic: float
    threshold: float
    false_alarm_rate: float
    reason: str


@dataclass(frozen=True)
class Track:
    """The pitch followed through the pass, one entry a frame (shape (n_frames,) each)."""

    times_s: FloatArray
    pitch_hz: FloatArray
    u_hz: FloatArray
    level_db: FloatArray


@dataclass(frozen=True)
class ReadingWindow:
    """One window of the two-window reading.

    Parameters
    ----------
    start_s, stop_s : float
        The window on the recording's clock (s).
    pitch : Quantity
        Pitch read in it (Hz).
    shortfall_hz : float
        By how much the pitch there falls short of its far limit according to the fit (Hz,
        signed: read minus limit); NaN without a fit.
    """

    start_s: float
    stop_s: float
    pitch: Quantity
    shortfall_hz: float


@dataclass(frozen=True)
class TwoWindow:
    """The two-window reading: what a pair of far pitches alone gives."""

    approach: ReadingWindow
    recede: ReadingWindow
    speed_mps: Quantity
    source_hz: Quantity


@dataclass(frozen=True)
class Fit:
    """The full curve fit.

    Parameters
    ----------
    passby : PassBy
        Best-fitting pass-by (values only).
    approach_hz, recede_hz, source_hz, speed_mps, closest_m, passing_time_s : Quantity
        Results with standard uncertainty, sound speed uncertainty included.
    acceleration_mps2 : Quantity
        Fitted or assumed acceleration (value 0, u 0 when held at zero).
    source_model : str
        ``"fixed"`` (pitch fixed) or ``"speed-tied"`` (pitch follows the speed).
    method : str
        ``"coherent"`` or ``"incoherent"``.
    coherence_time_s : float
        Estimated coherence time of the source (s), inf if not limited within the pass.
    covariance : ndarray, shape (4, 4)
        Of (source_hz, speed_mps, closest_m, passing_time_s).
    residual_times_s, residual_cents, residual_u_cents : ndarray, shape (n,)
        Track minus fitted curve.
    intervals : tuple of Interval
        Where each quantity of `FITTED` lies with 68 % and 95 % probability.
    """

    passby: PassBy
    approach_hz: Quantity
    recede_hz: Quantity
    source_hz: Quantity
    speed_mps: Quantity
    closest_m: Quantity
    passing_time_s: Quantity
    acceleration_mps2: Quantity
    source_model: str
    method: str
    coherence_time_s: float
    covariance: FloatArray
    residual_times_s: FloatArray
    residual_cents: FloatArray
    residual_u_cents: FloatArray
    intervals: tuple[Interval, ...] = ()

    def likely(self, name: str) -> Interval | None:
        """Return the intervals of a quantity of `FITTED`, None where none are known."""
        return next((one for one in self.intervals if one.name == name), None)


@dataclass(frozen=True)
class Measurement:
    """Everything `measure` found in one recording.

    Parameters
    ----------
    found : bool
        False: no pass-by found; `detection.reason` says why and the rest may be None.
    detection : Detection
    sound_speed_mps : Quantity
        The value the speeds and distances were worked out with.
    track : Track or None
    two_window : TwoWindow or None
    fit : Fit or None
        The preferred fit.
    alternatives : tuple of Fit
        Other source models that the data cannot rule out.
    limits : tuple of str
        What limits the result, most important first, one sentence each.
    warnings : tuple of str
    start_s, stop_s : float
        The stretch of the recording that was used (s).
    midway : Midway or None
        How two channels were brought together for it.
    """

    found: bool
    detection: Detection
    sound_speed_mps: Quantity
    track: Track | None = None
    two_window: TwoWindow | None = None
    fit: Fit | None = None
    alternatives: tuple[Fit, ...] = ()
    limits: tuple[str, ...] = ()
    warnings: tuple[str, ...] = field(default=())
    start_s: float = 0.0
    stop_s: float = 0.0
    midway: Midway | None = None
