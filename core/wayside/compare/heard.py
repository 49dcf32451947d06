"""The pitches a recording yields, as correlated numbers free of the speed of sound.

The far pitches and their harmonic mean do not depend on the speed of sound; speed does. So
the speed is worked out again from the pitches with the set-up's own speed of sound, which is
then shared by prediction and measurement and counted once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeGuard

import numpy as np
import numpy.typing as npt

from wayside.errors import InputError
from wayside.hand.propagate import Number, cents, correlated
from wayside.hand.sources.kind import OBSERVER, SOURCE, Given, SourceKind
from wayside.measure.result import Fit, Measurement
from wayside.quantity import Quantity

_LARGEST_CORRELATION = 0.9999


@dataclass(frozen=True)
class Heard:
    """Far pitches from a recording.

    Parameters
    ----------
    approach_hz, recede_hz : Quantity
        With infinite uncertainty where the recording does not tell.
    correlation : float
        Between the two.
    closest_m, passing_time_s : Quantity or None
        From the curve fit.
    method : str
        ``"fit"``, ``"two-window"`` or ``"by ear"``.
    """

    approach_hz: Quantity
    recede_hz: Quantity
    correlation: float
    closest_m: Quantity | None
    passing_time_s: Quantity | None
    method: str

    def on_fundamental(self, harmonic: int) -> Heard:
        """Return the same for the source's fundamental, if that harmonic was measured."""
        h = float(harmonic)

        def lower(q: Quantity) -> Quantity:
            return Quantity(q.value / h, q.u / h, q.unit)

        return replace(self, approach_hz=lower(self.approach_hz), recede_hz=lower(self.recede_hz))

    @property
    def covariance(self) -> npt.NDArray[np.float64]:
        """Covariance of (approach, recede), shape (2, 2); only for finite uncertainties."""
        ua, ur = self.approach_hz.u, self.recede_hz.u
        mixed = self.correlation * ua * ur
        return np.array([[ua * ua, mixed], [mixed, ur * ur]])


def heard_in(measurement: Measurement, source_model: str = "") -> Heard:
    """Return the far pitches of a measurement, from the fit if there is one.

    Parameters
    ----------
    measurement : Measurement
    source_model : str
        ``"fixed"`` or ``"speed-tied"``: use that alternative fit if the measurement offers it.

    Raises
    ------
    InputError
        If the measurement found no pass-by.
    """
    if not measurement.found:
        raise InputError(f"There is nothing to compare with: {measurement.detection.reason}")
    fit = _choose(measurement, source_model)
    if fit is not None:
        r = pitch_correlation(fit.approach_hz, fit.recede_hz, fit.source_hz)
        return Heard(fit.approach_hz, fit.recede_hz, r, fit.closest_m, fit.passing_time_s, "fit")
    two = measurement.two_window
    if two is None:
        raise InputError("The measurement holds neither a fit nor a two-window reading.")
    return Heard(two.approach.pitch, two.recede.pitch, 0.0, None, None, "two-window")


def heard_by_ear(approach: Quantity, recede: Quantity) -> Heard:
    """Return two far pitches found otherwise, for example judged by ear (Hz).

    Raises
    ------
    InputError
        If they are no pitches, or the source would not come and then go.
    """
    for name, q in (("approach", approach), ("recede", recede)):
        if not (math.isfinite(q.value) and q.value > 0 and math.isfinite(q.u) and q.u > 0):
            raise InputError(
                f"The {name} pitch is {q.value:g} ± {q.u:g} Hz; give a pitch above zero and an "
                "uncertainty above zero."
            )
    if approach.value <= recede.value:
        raise InputError("The approach pitch is not above the recede pitch; swap the two.")
    return Heard(approach, recede, 0.0, None, None, "by ear")


def measured_results(heard: Heard, kind: SourceKind, given: Given) -> dict[str, Number]:
    """Return the measured results by name, tied to the prediction by the shared `given`.

    Speed and distance follow from the pitches with the very numbers (speed of sound, wind)
    that the prediction uses, so that their common uncertainty cancels where it should.
    """
    out: dict[str, Number] = {"sound_speed_mps": given.sound}
    pitches = {"approach_hz": heard.approach_hz, "recede_hz": heard.recede_hz}
    if all(_known(q) for q in pitches.values()) and kind.back_solve is not None:
        approach, recede = correlated([q.value for q in pitches.values()], heard.covariance)
        speed, source = kind.back_solve(approach, recede, given)
        out |= {
            "speed_mps": speed,
            "source_hz": source,
            "approach_hz": approach,
            "recede_hz": recede,
            "shift_up_hz": approach - source,
            "shift_down_hz": source - recede,
            "drop_cents": cents(approach / recede),
        }
        if kind.measure_as == "wheel":
            out["cycles_per_metre"] = source / speed
        pitches = {}
    # with both moving, the fit's distance and clock are those of neither
    geometric = kind.mover in (SOURCE, OBSERVER)
    single: dict[str, Quantity | None] = {
        **pitches,
        "closest_m": heard.closest_m if geometric else None,
        "passing_time_s": heard.passing_time_s if geometric else None,
    }
    for name, q in single.items():
        if _known(q):
            (out[name],) = correlated([q.value], [[q.u**2]])
    return out


def _known(q: Quantity | None) -> TypeGuard[Quantity]:
    return q is not None and math.isfinite(q.value) and math.isfinite(q.u)


def _choose(measurement: Measurement, source_model: str) -> Fit | None:
    fit = measurement.fit
    if fit is None or not source_model or fit.source_model == source_model:
        return fit
    return next((a for a in measurement.alternatives if a.source_model == source_model), fit)


def pitch_correlation(approach: Quantity, recede: Quantity, source: Quantity) -> float:
    """Return the correlation of the two pitches, from the uncertainty of their harmonic mean.

    With ``f0 = 2 fa fr/(fa + fr)``: ``u0^2 = ga^2 ua^2 + gr^2 ur^2 + 2 ga gr r ua ur``.
    """
    fa, fr, total = approach.value, recede.value, approach.value + recede.value
    ga, gr = 2.0 * (fr / total) ** 2, 2.0 * (fa / total) ** 2
    mixed = 2.0 * ga * gr * approach.u * recede.u
    if not (math.isfinite(mixed) and mixed > 0 and math.isfinite(source.u)):
        return 0.0
    r = (source.u**2 - (ga * approach.u) ** 2 - (gr * recede.u) ** 2) / mixed
    return min(max(r, -_LARGEST_CORRELATION), _LARGEST_CORRELATION)
