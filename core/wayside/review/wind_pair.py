"""Wind along the track from a pass each way of one source of fixed pitch.

With the wind w from behind, a pass at speed v sounds exactly like one in calm air with

    source pitch  f0' = f0/(1 + v w/D),   speed  v' = v c^2/(D + v w),   D = c^2 - w^2

(derived in docs/theory/wind-pair.md), so one pass cannot show the wind. Out and back with
the same source, w changes sign and

    w = c^2 (R - 1)/(v2' + R v1'),  R = f02'/f01',   f0 = (f01' v2' + f02' v1')/(v1' + v2')

while the two speeds may differ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wayside.compare.heard import Heard, heard_in, pitch_correlation
from wayside.errors import InputError
from wayside.hand import digits
from wayside.hand.propagate import Number, as_quantity, correlated, uncertain, value_of
from wayside.measure.options import MeasureOptions
from wayside.measure.result import Fit, Measurement
from wayside.physics.passby import speed_from_limits
from wayside.quantity import Quantity
from wayside.review.row import RunRow

STEADY = 1e-4
"""Standard uncertainty, as a fraction, of a buzzer's pitch being the same on both passes.

Common practice, no source: a fresh battery and a few minutes between the passes.
"""

MOST_WIND_MPS = 25.0
"""Nobody rides past a microphone in more (10 on the Beaufort scale): then the pitch changed."""

_CLOCK = 1e-6 * MeasureOptions().clock_ppm


@dataclass(frozen=True)
class WindPair:
    """Wind, source pitch and speeds from a pass each way.

    Parameters
    ----------
    wind_mps : Quantity
        Along the track, positive from behind on the way out.
    source_hz : Quantity
        Source pitch with the wind taken out.
    speed_out_mps, speed_back_mps : Quantity
        Speeds over the ground.
    source_out_hz, source_back_hz : Quantity
        Source pitch of each pass as if it were calm.
    steady : float
        How steady the source pitch was taken to be, a fraction (standard uncertainty).
    mps_per_percent : float
        How much wind a change of the source pitch by 1 % between the passes would mimic.
    finding : str
        What it comes to, as the end of a sentence.
    """

    wind_mps: Quantity
    source_hz: Quantity
    speed_out_mps: Quantity
    speed_back_mps: Quantity
    source_out_hz: Quantity
    source_back_hz: Quantity
    steady: float
    mps_per_percent: float
    finding: str

    @property
    def sentence(self) -> str:
        """The same as a sentence of its own."""
        return f"Out and back: {self.finding}"


def wind_from_measurements(out: Measurement, back: Measurement, steady: float = STEADY) -> WindPair:
    """Return wind and speeds from the measurements of a pass out and a pass back.

    Raises
    ------
    InputError
        If a pass was not found, or the source's pitch follows its speed.
    """
    if out.fit is not None and back.fit is not None:
        return wind_from_fits(out.fit, back.fit, out.sound_speed_mps, steady)
    return wind_pair(heard_in(out), heard_in(back), out.sound_speed_mps, steady)


def wind_from_fits(out: Fit, back: Fit, sound_speed: Quantity, steady: float = STEADY) -> WindPair:
    """Return wind and speeds from the fits of two passes, perhaps of one recording.

    Raises
    ------
    InputError
        If the source's pitch follows its speed, or no wind explains the difference.
    """
    heard = []
    for fit in (out, back):
        _check_model(fit.source_model)
        r = pitch_correlation(fit.approach_hz, fit.recede_hz, fit.source_hz)
        heard.append(Heard(fit.approach_hz, fit.recede_hz, r, None, None, "fit"))
    return wind_pair(heard[0], heard[1], sound_speed, steady)


def wind_from_rows(out: RunRow, back: RunRow, steady: float = STEADY) -> WindPair:
    """Return wind and speeds from the rows of a run out and a run back.

    Raises
    ------
    InputError
        If a run does not give its pitches, or the source's pitch follows its speed.
    """
    heard = []
    for row in (out, back):
        approach, recede = row.approach_hz.measured, row.recede_hz.measured
        source = row.source_hz.measured
        if approach is None or recede is None or source is None:
            raise InputError(f"{row.name} gives no pitches, so the pair cannot show the wind.")
        _check_model(row.source_model)
        r = pitch_correlation(approach, recede, source)
        heard.append(Heard(approach, recede, r, None, None, "fit"))
    sound = out.sound_speed_mps or MeasureOptions().sound_speed
    return wind_pair(heard[0], heard[1], sound, steady)


def wind_pair(out: Heard, back: Heard, sound_speed: Quantity, steady: float = STEADY) -> WindPair:
    """Return wind and speeds from the far pitches of a pass each way.

    Parameters
    ----------
    out, back : Heard
        Far pitches, recorded with the same clock: its error cancels in their ratio.
    sound_speed : Quantity
        In still air (m/s).
    steady : float
        Standard uncertainty of the source pitch being the same both times, as a fraction.

    Raises
    ------
    InputError
        If the pitches are no pass-by, or differ by more than any wind explains.
    """
    c = uncertain(sound_speed.value, sound_speed.u, "sound")
    clock = uncertain(1.0, _CLOCK, "clock")
    drift = uncertain(1.0, steady, "drift")
    v1, f1 = _as_if_calm(out, c, clock)
    v2, f2 = _as_if_calm(back, c, clock * drift)
    ratio = f2 / f1
    wind = c * c * (ratio - 1.0) / (v2 + ratio * v1)
    if not abs(value_of(wind)) < MOST_WIND_MPS:
        percent = 100.0 * abs(value_of(ratio) - 1.0)
        raise InputError(
            f"The source pitches of the two passes differ by {percent:.2g} %, more than wind can "
            "explain; the source did not keep its pitch, or these are not one source out and back."
        )
    source = (f1 * v2 + f2 * v1) / (v1 + v2)
    shrink = 1.0 - (wind / c) ** 2
    found = as_quantity(wind, "m/s")
    per_percent = 0.01 * sound_speed.value**2 / value_of(v1 + v2)
    pair = (as_quantity(f1, "Hz"), as_quantity(f2, "Hz"))
    return WindPair(
        wind_mps=found,
        source_hz=as_quantity(source, "Hz"),
        speed_out_mps=as_quantity(v1 * source / f1 * shrink, "m/s"),
        speed_back_mps=as_quantity(v2 * source / f2 * shrink, "m/s"),
        source_out_hz=pair[0],
        source_back_hz=pair[1],
        steady=steady,
        mps_per_percent=per_percent,
        finding=_finding(found, as_quantity(source, "Hz"), steady, per_percent),
    )


def _as_if_calm(heard: Heard, c: Number, clock: Number) -> tuple[Number, Number]:
    """Return speed and source pitch of one pass, the clock's part carried by `clock`."""
    fa, fr = heard.approach_hz, heard.recede_hz
    known = all(math.isfinite(q.value) and math.isfinite(q.u) for q in (fa, fr))
    if not known or not fa.value > fr.value > 0:
        raise InputError("A pass of the pair does not give two pitches that fall; measure it anew.")
    pitches = np.array([fa.value, fr.value])
    # the clock's error is in both uncertainties already; it is common to both passes
    own = np.asarray(heard.covariance) - np.outer(pitches, pitches) * _CLOCK**2
    approach, recede = correlated(list(pitches), own)
    return speed_from_limits(approach * clock, recede * clock, c)


def _check_model(source_model: str) -> None:
    if source_model == "speed-tied":
        raise InputError(
            "A hum that follows the speed cannot show the wind: its pitch over its speed comes "
            "out the same both ways; use a buzzer or a whistle."
        )


def _finding(wind: Quantity, source: Quantity, steady: float, per_percent: float) -> str:
    way = "from behind on the way out" if wind.value > 0 else "from ahead on the way out"
    size = digits.full_text(Quantity(abs(wind.value), wind.u, wind.unit))
    if wind.u > 0.5 * MOST_WIND_MPS:
        return (
            "the two source pitches are not known well enough to tell the wind (to "
            f"{wind.u:.2g} m/s)."
        )
    given = (
        f"(taking the source to keep its pitch to {100 * steady:.2g} %; a change of 0.1 % would "
        f"look like {0.1 * per_percent:.2g} m/s of wind)"
    )
    if abs(wind.value) <= 2.0 * wind.u:
        return f"no wind along the track shows, {size} {way} {given}."
    return (
        f"the two source pitches differ as in a wind of {size} {way} {given}; "
        f"without it the source pitch is {digits.full_text(source)}."
    )
