"""Ways of working that give nearly the right answer, and what each of them costs.

The midpoint of the two pitches for the source pitch, the small-speed approximation, reading
the pitches near the microphone instead of far away, and rounding at every step.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from wayside.hand import digits
from wayside.hand.predict import RESULTS, Prediction
from wayside.hand.propagate import cents
from wayside.hand.sources.kind import BOTH, CIRCLE, OBSERVER, SOURCE
from wayside.hand.wind import WindEffect, wind_effects
from wayside.physics.limits import far_limits, speeds_along_track
from wayside.physics.passby import PassBy, speed_from_limits
from wayside.quantity import Quantity

Rounder = Callable[[Quantity], float]

POSITIONS = (1.0, 2.0, 3.0, 5.0, 10.0)
"""Reading positions shown, in multiples of the closest distance."""


@dataclass(frozen=True)
class Shortcut:
    """A shortcut against the exact way, for one result.

    Parameters
    ----------
    name, label : str
        The result.
    way : str
        What the shortcut is.
    exact, shortcut : float
        Both values, in `unit`.
    unit : str
    error : float
        Shortcut minus exact.
    percent : float
        The error relative to the exact value.
    share_of_u : float
        The error in standard uncertainties of the result; inf if it is exact.
    sentence : str
    """

    name: str
    label: str
    way: str
    exact: float
    shortcut: float
    unit: str
    error: float
    percent: float
    share_of_u: float
    sentence: str


@dataclass(frozen=True)
class NearReading:
    """What two windows read when they lie at a finite distance.

    Parameters
    ----------
    multiple : float
        Position in multiples of the closest distance.
    position_m : float
        Distance of the source from the closest point, before and after (m).
    time_s : float
        When it is there, before and after the passing (s).
    approach_hz, recede_hz : float
        Pitch heard from there (Hz), when its sound arrives.
    speed_mps : float
        Speed the two-pitch formula would give (m/s).
    speed_percent : float
        Its error (%).
    """

    multiple: float
    position_m: float
    time_s: float
    approach_hz: float
    recede_hz: float
    speed_mps: float
    speed_percent: float


@dataclass(frozen=True)
class Methods:
    """All shortcuts of one prediction, and what wind would do to it."""

    shortcuts: tuple[Shortcut, ...]
    near: tuple[NearReading, ...]
    rounding: tuple[Shortcut, ...]
    wind: tuple[WindEffect, ...]


def compare_methods(prediction: Prediction) -> Methods:
    """Set the shortcuts beside the exact way."""
    return Methods(
        _shortcuts(prediction),
        near_readings(prediction) if prediction.closest_m else (),
        _rounding(prediction),
        wind_effects(prediction),
    )


def passby_of(prediction: Prediction, closest_m: float, passing_time_s: float = 0.0) -> PassBy:
    """Return the predicted pass-by: still air, constant speed.

    For a moving observer the pass-by of a moving source with the same two far pitches is
    returned; its pitch curve is the same (see docs/theory).
    """
    sound = prediction.sound_speed_mps.value
    speed, source = speed_from_limits(
        prediction.approach_hz.value, prediction.recede_hz.value, sound
    )
    return PassBy(source, speed, closest_m, passing_time_s, sound)


def near_readings(
    prediction: Prediction, multiples: Sequence[float] = POSITIONS
) -> tuple[NearReading, ...]:
    """Return what is read at some multiples of the closest distance instead of far away."""
    if prediction.closest_m is None or prediction.setup.kind.mover not in (SOURCE, OBSERVER):
        return ()
    p = passby_of(prediction, prediction.closest_m.value)
    return tuple(_near(p, k) for k in multiples)


def _near(p: PassBy, multiple: float) -> NearReading:
    position = multiple * p.closest_m
    tau = np.array([-position, position]) / p.speed_mps
    approach, recede = (float(f) for f in p.pitch(p.arrival_time(tau)))
    speed, _ = speed_from_limits(approach, recede, p.sound_speed_mps)
    return NearReading(
        multiple,
        position,
        float(tau[1]),
        approach,
        recede,
        speed,
        100.0 * (speed / p.speed_mps - 1.0),
    )


def _shortcuts(p: Prediction) -> tuple[Shortcut, ...]:
    fa, fr, f0 = p.approach_hz.value, p.recede_hz.value, p.source_hz.value
    found = []
    if p.setup.kind.mover == SOURCE:
        found.append(_shortcut(p, "source_hz", "midpoint of the two pitches", 0.5 * (fa + fr)))
    if p.setup.kind.mover == OBSERVER:
        found.append(
            _shortcut(p, "source_hz", "harmonic mean of the two pitches", 2 * fa * fr / (fa + fr))
        )
    if p.setup.kind.mover in (SOURCE, CIRCLE):
        ratio = p.speed_mps.value / p.sound_speed_mps.value
        found += [
            _shortcut(p, "approach_hz", "small-speed formula f₀(1 + v/c)", f0 * (1 + ratio)),
            _shortcut(p, "recede_hz", "small-speed formula f₀(1 − v/c)", f0 * (1 - ratio)),
        ]
    if p.setup.kind.mover != BOTH:
        one_sided = p.sound_speed_mps.value * (fa / f0 - 1.0)
        found.append(_shortcut(p, "speed_mps", "small-speed formula v = c(f_a − f₀)/f₀", one_sided))
    return tuple(found)


def _shortcut(p: Prediction, name: str, way: str, value: float) -> Shortcut:
    label, unit = RESULTS[name]
    exact: Quantity = getattr(p, name)
    error = value - exact.value
    share = abs(error) / exact.u if exact.u else math.inf
    size = f"{abs(error):.2g} {unit}"
    interval = (
        f", {abs(float(cents(value / exact.value))):.2g} cents" if unit == "Hz" and error else ""
    )
    side = "above" if error > 0 else "below"
    sentence = (
        f"{way}: {digits.number_text(Quantity(value, exact.u, unit))} {unit}, {size} "
        f"({100 * abs(error) / abs(exact.value):.2g} %{interval}) {side} the exact {label}"
        + (f", or {share:.1g} of its standard uncertainties" if math.isfinite(share) else "")
    )
    if abs(error) < 1e-9 * abs(exact.value):
        sentence = f"{way}: exact here"
    return Shortcut(
        name,
        label,
        way,
        exact.value,
        value,
        unit,
        error,
        100.0 * error / exact.value,
        share,
        f"{sentence[:1].upper()}{sentence[1:]}.",
    )


def _rounding(p: Prediction) -> tuple[Shortcut, ...]:
    """Return the far pitches when speed, pitch and sound speed are rounded before use."""
    if p.setup.kind.mover not in (SOURCE, OBSERVER):
        return ()
    found = []
    for way, rounder in (
        ("every step rounded to the digits shown", digits.rounded),
        ("every step rounded to three digits", _to_digits(3)),
        ("every step rounded to two digits", _to_digits(2)),
    ):
        try:
            approach, recede = _worked_with(p, rounder)
        except ZeroDivisionError:
            # rounded so hard that the source is as fast as its sound
            continue
        found.append(_shortcut(p, "approach_hz", way, approach))
        found.append(_shortcut(p, "recede_hz", way, recede))
    return tuple(found)


def _worked_with(p: Prediction, rounder: Rounder) -> tuple[float, float]:
    """Return the far pitches from intermediate results that were rounded."""
    wind = {i.path: i.value for i in p.setup.inputs if i.path.startswith("air.wind")}
    forward, backward = speeds_along_track(
        rounder(p.sound_speed_mps), wind["air.wind_along"], wind["air.wind_across"]
    )
    speed = rounder(p.speed_mps)
    source = rounder(p.source_hz)
    if p.cycles_per_metre is not None:
        product = speed * rounder(p.cycles_per_metre)
        source = rounder(Quantity(product, p.source_hz.u, "Hz"))
    if p.setup.kind.mover == OBSERVER:
        return far_limits(source, backward, forward, 0.0, speed)
    return far_limits(source, forward, backward, speed, 0.0)


def _to_digits(n: int) -> Rounder:
    return lambda q: float(f"{q.value:.{n}g}")
