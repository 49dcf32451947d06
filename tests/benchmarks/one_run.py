"""Measure one simulated recording and set the result against the truth."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from wayside.measure.options import MeasureOptions
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.sound.recording import Recording

QUANTITIES = (
    "source_hz",
    "speed_mps",
    "closest_m",
    "passing_time_s",
    "approach_hz",
    "recede_hz",
    "acceleration_mps2",
)
EXACT_SOUND_SPEED = Quantity(343.2, 1e-6, "m/s")


@dataclass(frozen=True)
class Outcome:
    """What came of one run.

    Parameters
    ----------
    found : bool
    errors, us : dict
        Error and stated standard uncertainty of each of `QUANTITIES`; empty if not found.
    within : dict
        Whether the truth lies in the stated 68 % and 95 % interval, a pair a quantity.
    seconds : float
        Time the measurement took (s).
    reason : str
        What the detection said.
    """

    found: bool
    errors: dict[str, float]
    us: dict[str, float]
    seconds: float
    reason: str = ""
    within: dict[str, tuple[bool, bool]] = field(default_factory=dict)

    def gross(self, truth: PassBy, limit: float = 0.05) -> bool:
        """Whether nothing was found, or speed or pitch is off by more than `limit`."""
        return (
            not self.found
            or not abs(self.errors["speed_mps"]) <= limit * truth.speed_mps
            or not abs(self.errors["source_hz"]) <= limit * truth.source_hz
        )


def measure_once(
    samples: np.ndarray, rate_hz: float, options: MeasureOptions, truth: PassBy
) -> Outcome:
    """Measure samples of shape (n, n_channels) and return errors against `truth`."""
    return measure_recording(Recording.from_array(samples, rate_hz), options, truth)


def measure_recording(
    recording: Recording,
    options: MeasureOptions,
    truth: PassBy | Callable[[PassBy], PassBy],
) -> Outcome:
    """Measure a recording and return errors against `truth`, which may depend on what is told."""
    from wayside.measure.pipeline import measure

    begin = time.perf_counter()
    result = measure(recording, options)
    seconds = time.perf_counter() - begin
    reason = result.detection.reason
    if not result.found or result.fit is None:
        return Outcome(False, {}, {}, seconds, reason)
    true = truth if isinstance(truth, PassBy) else truth(result.fit.passby)
    errors, us, within = {}, {}, {}
    for name in QUANTITIES:
        quantity: Quantity = getattr(result.fit, name)
        errors[name] = quantity.value - getattr(true, name)
        us[name] = quantity.u
        likely, value = result.fit.likely(name), getattr(true, name)
        assert likely is not None
        within[name] = (
            likely.low_68 <= value <= likely.high_68,
            likely.low_95 <= value <= likely.high_95,
        )
    return Outcome(True, errors, us, seconds, reason, within)
