"""Turn a fitted model into reported quantities, uncertainty of the speed of sound included."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from wayside.measure.fitted import ModelFit
from wayside.measure.intervals import interval
from wayside.measure.result import Fit, Track
from wayside.physics.passby import PassBy
from wayside.quantity import Quantity

FloatArray = npt.NDArray[np.float64]

ANY_SIGN = ("passing_time_s", "acceleration_mps2")


def as_fit(model: ModelFit, sound_speed: Quantity, track: Track, clock_ppm: float) -> Fit:
    """Return the public fit.

    Parameters
    ----------
    model : ModelFit
    sound_speed : Quantity
        Its uncertainty reaches speed, distance and acceleration.
    track : Track
        Pitch by frame, for the residuals.
    clock_ppm : float
        Standard uncertainty of the recorder's clock (parts per million).
    """
    p = model.passby
    told, cov = _quantities(p, model.covariance, model.by_c, sound_speed, clock_ppm)
    each, weights = [told], [1.0]
    if model.parts:
        each = [
            _quantities(part.passby, part.covariance, model.by_c, sound_speed, clock_ppm)[0]
            for part in model.parts
        ]
        weights = [part.weight for part in model.parts]
    intervals = tuple(
        interval(
            name,
            [one[name].value for one in each],
            [one[name].u for one in each],
            weights,
            name not in ANY_SIGN,
        )
        for name in told
    )
    curve = p.pitch(track.times_s)
    cents = 1200.0 * np.log2(track.pitch_hz / curve)
    return Fit(
        passby=p,
        **told,
        source_model=model.kind,
        method=model.method,
        coherence_time_s=model.unrest.coherence_s,
        covariance=cov[:4, :4],
        residual_times_s=track.times_s,
        residual_cents=cents,
        residual_u_cents=1200.0 / np.log(2.0) * track.u_hz / track.pitch_hz,
        intervals=intervals,
    )


def _quantities(
    p: PassBy, covariance: FloatArray, by_c: FloatArray, sound_speed: Quantity, clock_ppm: float
) -> tuple[dict[str, Quantity], FloatArray]:
    """Return the quantities of a pass-by by name, and the covariance of its parameters."""
    c = sound_speed.value
    cov = covariance + np.outer(by_c, by_c) * sound_speed.u**2
    clock = 1e-6 * clock_ppm
    cov[0, 0] += (clock * p.source_hz) ** 2
    # the pitches depend on v/c alone: take what v/c does not share with the speed of sound
    ratio = by_c.copy()
    ratio[1] -= p.speed_mps / c
    cov_ratio = covariance + np.outer(ratio, ratio) * sound_speed.u**2
    cov_ratio[0, 0] += (clock * p.source_hz) ** 2
    mach = p.speed_mps / c
    near = np.array([1.0 / (1.0 - mach), p.source_hz / c / (1.0 - mach) ** 2])
    far = np.array([1.0 / (1.0 + mach), -p.source_hz / c / (1.0 + mach) ** 2])

    def pitch_u(slope: FloatArray) -> float:
        return float(np.sqrt(max(0.0, float(slope @ cov_ratio[:2, :2] @ slope))))

    def q(value: float, index: int, unit: str) -> Quantity:
        return Quantity(value, float(np.sqrt(max(0.0, cov[index, index]))), unit)

    return {
        "approach_hz": Quantity(p.approach_hz, pitch_u(near), "Hz"),
        "recede_hz": Quantity(p.recede_hz, pitch_u(far), "Hz"),
        "source_hz": q(p.source_hz, 0, "Hz"),
        "speed_mps": q(p.speed_mps, 1, "m/s"),
        "closest_m": q(p.closest_m, 2, "m"),
        "passing_time_s": q(p.passing_time_s, 3, "s"),
        "acceleration_mps2": q(p.acceleration_mps2, 4, "m/s^2"),
    }, cov
