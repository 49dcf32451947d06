"""Was the speed constant? The drift of the pitch in the rider's frame, with its uncertainty.

A hum tied to the speed falls in pitch as the rider slows: its drift in the source's own time
is the change of speed itself, ``1200 log2(1 + a T/v)`` cents over a time T. The drift is
fitted together with the motion, because part of it passes for Doppler shift; the source's
unrest, found by restricted likelihood, widens its uncertainty. No habit of riders enters,
unlike in the measurement, so that the recording alone testifies. A source of fixed pitch
shows a change of speed not as a drift but in the curve; both are then given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from wayside.hand.digits import full_text
from wayside.jobs import QUIET, Job
from wayside.listen.drift import Changes, changes_fixed, changes_tied, clear_run, envelopes
from wayside.listen.rider import motion_of
from wayside.measure.hunt import sound_between
from wayside.measure.options import MeasureOptions
from wayside.measure.phasefit import Priors
from wayside.measure.result import FloatArray, Measurement
from wayside.measure.staging import usual_of
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity
from wayside.sound.recording import Recording

CENTS = 1200.0 / math.log(2.0)
UNLIKELY = 0.01
# standard uncertainties beyond which a drift of a fixed pitch is called one
CLEAR = 3.0
# wide enough to say nothing about riders, narrow enough to keep the fit from running away
ANY_ACCELERATION = (0.0, 2.0)


@dataclass(frozen=True)
class RiderPitch:
    """Pitch in the rider's frame, one entry a frame, shape (n,) each.

    Parameters
    ----------
    times_s : ndarray
        Emission times (s).
    cents : ndarray
        Above the source pitch at the passing (cents).
    u_cents : ndarray
        Standard uncertainty from background noise alone.
    """

    times_s: FloatArray
    cents: FloatArray
    u_cents: FloatArray


@dataclass(frozen=True)
class ConstantSpeedTest:
    """Whether the sound agrees with a constant speed.

    Parameters
    ----------
    drift_cents : Quantity
        Change of the source's own pitch from `start_s` to `stop_s`, negative when falling.
    drift_cents_per_s : Quantity
        The same for each second.
    acceleration_mps2 : Quantity
        Acceleration along the track: from the drift where the pitch is tied to the speed,
        from the curve where it is fixed.
    speed_change_percent : Quantity
        Change of speed from `start_s` to `stop_s` that this amounts to.
    probability : float
        How often a constant speed would show as much change or more by chance (two-sided).
    start_s, stop_s : float
        Emission times between which the source was followed (s).
    source_model : str
        ``"speed-tied"`` or ``"fixed"``.
    sentence : str
        The outcome in plain words.
    """

    drift_cents: Quantity
    drift_cents_per_s: Quantity
    acceleration_mps2: Quantity
    speed_change_percent: Quantity
    probability: float
    start_s: float
    stop_s: float
    source_model: str
    sentence: str

    @property
    def agrees(self) -> bool:
        """True when the sound agrees with a constant speed."""
        return self.probability >= UNLIKELY


def rider_pitch(measurement: Measurement) -> RiderPitch:
    """Return the pitch followed through the pass as heard in the rider's frame.

    Raises
    ------
    InputError
        If no pass-by was found.
    """
    p = motion_of(measurement)
    fit = measurement.fit
    assert fit is not None
    tau = p.emission_time(fit.residual_times_s)
    own = CENTS * np.log(p.velocity(tau) / p.speed_mps) if p.speed_tied else np.zeros(tau.size)
    return RiderPitch(tau, fit.residual_cents + own, fit.residual_u_cents)


def constant_speed_test(
    recording: Recording,
    measurement: Measurement,
    options: MeasureOptions | None = None,
    job: Job = QUIET,
) -> ConstantSpeedTest:
    """Test whether the pitch in the rider's frame, and so the speed, was constant.

    Parameters
    ----------
    recording : Recording
    measurement : Measurement
        Of that recording.
    options : MeasureOptions, optional
        Those of the measurement; a taped distance and known treads per metre are used.
    job : Job, optional

    Raises
    ------
    InputError
        If no pass-by was found.
    Cancelled
        If the job was stopped.
    """
    p = motion_of(measurement)
    fit = measurement.fit
    assert fit is not None
    priors = _priors(options or MeasureOptions(), p, measurement.detection.statistic)
    sound = sound_between(recording, measurement.start_s, measurement.stop_s, measurement.midway)
    job.step(0.0, "Following the pitch in the rider's frame")
    blocks = envelopes(sound, fit)
    coherent = fit.method == "coherent"
    clear = clear_run(blocks, p, coherent)
    job.step(0.4, "Testing for constant speed")
    if p.speed_tied:
        changes = changes_tied(blocks, clear, p, priors, coherent)
    else:
        changes = changes_fixed(blocks, clear, p, priors, coherent, job)
    ends = p.emission_time((clear or blocks).times_s[[0, -1]])
    job.check()
    return _judged(changes, measurement, p.speed_tied, float(ends[0]), float(ends[1]))


def _priors(options: MeasureOptions, p: PassBy, nats: float) -> Priors:
    known = Priors.from_options(options)
    return replace(known, acceleration_mps2=ANY_ACCELERATION, weak=True, usual=usual_of(p, nats))


def _judged(
    changes: Changes, measurement: Measurement, tied: bool, start_s: float, stop_s: float
) -> ConstantSpeedTest:
    span, pitch, speed = stop_s - start_s, changes.pitch, changes.speed
    a = changes.acceleration_mps2
    # accelerations scale with the speed of sound, relative changes of speed do not
    u_a = math.hypot(changes.u_acceleration, a * measurement.sound_speed_mps.relative_u)
    total = Quantity(CENTS * pitch.value * span, CENTS * pitch.u * span, "cent")
    change = Quantity(100.0 * speed.value * span, 100.0 * speed.u * span, "%")
    acceleration = Quantity(a, u_a, "m/s^2")
    score = abs(speed.value) / speed.u if speed.u > 0 else math.inf
    probability = math.erfc(score / math.sqrt(2.0))
    sentence = _tied_sentence if tied else _fixed_sentence
    return ConstantSpeedTest(
        total,
        Quantity(CENTS * pitch.value, CENTS * pitch.u, "cent/s"),
        acceleration,
        change,
        probability,
        start_s,
        stop_s,
        "speed-tied" if tied else "fixed",
        sentence(total, change, acceleration, span, probability),
    )


def _tied_sentence(
    total: Quantity, change: Quantity, acceleration: Quantity, span: float, probability: float
) -> str:
    drift = f"The pitch in the rider's frame drifts by {_text(total)} over {span:.1f} s"
    if probability >= UNLIKELY:
        return (
            f"{drift}, which agrees with a constant speed; a change of speed below "
            f"{_noticed(change)} would not show."
        )
    return (
        f"{drift}: the speed was not constant, the source {_does(change)} by "
        f"{_size(change)} ({_size(acceleration)}; {_chance(probability)})."
    )


def _fixed_sentence(
    total: Quantity, change: Quantity, acceleration: Quantity, span: float, probability: float
) -> str:
    if probability >= UNLIKELY:
        first = (
            f"The curve agrees with a constant speed; a change below {_noticed(change)} over "
            f"{span:.1f} s would not show."
        )
    else:
        first = (
            f"The speed was not constant: the source {_does(change)} by {_size(change)} over "
            f"{span:.1f} s ({_size(acceleration)}; {_chance(probability)})."
        )
    second = f"In the rider's frame the source's own pitch drifts by {_text(total)}"
    if abs(total.value) > CLEAR * total.u:
        return (
            f"{first} {second}, so it is not quite fixed; if it comes from a wheel, say so and "
            "measure again."
        )
    return f"{first} {second}, which is none that can be told from noise."


def _noticed(change: Quantity) -> str:
    return f"{2.0 * change.u:.2g} %"


def _does(change: Quantity) -> str:
    return "slows" if change.value < 0 else "speeds up"


def _chance(probability: float) -> str:
    if probability < 1e-4:
        return "a constant speed would show as much in fewer than 1 of 10 000 recordings"
    return f"a constant speed would show as much in {100 * probability:.1g} % of recordings"


def _size(q: Quantity) -> str:
    return _text(Quantity(abs(q.value), q.u, q.unit))


def _text(q: Quantity) -> str:
    units = {"cent": "cents", "m/s^2": "m/s²"}
    return full_text(Quantity(q.value, q.u, units.get(q.unit, q.unit)))
