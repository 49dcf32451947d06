"""One line of the comparison: the two values, their difference, and a verdict.

Agreement is judged by the normalised error ``E_n = (x - X)/U`` with U the expanded combined
uncertainty, k = 2 (ISO 13528, ISO/IEC 17043): ``|E_n| <= 1``. Where few repeats make the
scatter itself uncertain, k grows to Student's factor of the same probability.
"""

from __future__ import annotations

import math

from scipy.special import stdtrit

from wayside.compare.result import AGREE, DISAGREE, UNTESTED, Row
from wayside.hand import digits
from wayside.hand.predict import RESULTS
from wayside.hand.propagate import Number, as_quantity, cents
from wayside.quantity import Quantity

K = 2.0
"""Coverage factor when nothing rests on few repeats."""

LEVEL = math.erf(K / math.sqrt(2.0))
"""Probability within k = 2 of a normal distribution, 95.45 %."""

_PITCHES = ("approach_hz", "recede_hz", "source_hz")


def expansion(dof: float) -> float:
    """Return the coverage factor for `LEVEL`: 2, or Student's if repeats were few.

    JCGM 100:2008, G.3 and table G.2 (column 95.45 %).
    """
    return float(stdtrit(dof, 0.5 * (1.0 + LEVEL))) if math.isfinite(dof) else K


def row(name: str, predicted: Number, measured: Number, used: bool, dof: float = math.inf) -> Row:
    """Return one line of the comparison.

    Parameters
    ----------
    name : str
        Result name.
    predicted, measured : number
        Carrying their uncertainties, shared causes included.
    used : bool
        True when the hand value went into the measurement, so that nothing is tested.
    dof : float
        Effective degrees of freedom of the difference.
    """
    label, unit = RESULTS[name]
    p, m = as_quantity(predicted, unit), as_quantity(measured, unit)
    d = as_quantity(measured - predicted, unit)
    untested = name == "sound_speed_mps" or used
    k = expansion(dof)
    e_n = math.nan if untested or d.u == 0 else d.value / (k * d.u)
    verdict = UNTESTED if math.isnan(e_n) else AGREE if abs(e_n) <= 1.0 else DISAGREE
    interval = float(cents(m.value / p.value)) if name in _PITCHES else None
    percent = 100.0 * d.value / p.value if p.value else math.nan
    sentence = _row_sentence(name, d, k, verdict)
    return Row(name, label, p, m, d, k, percent, interval, e_n, verdict, sentence)


def _row_sentence(name: str, d: Quantity, k: float, verdict: str) -> str:
    label = RESULTS[name][0]
    if name == "sound_speed_mps":
        return "Speed of sound: the same value serves both sides, so it is not tested."
    if verdict == UNTESTED:
        return f"{label.capitalize()}: used in the measurement, so it is not tested."
    size = digits.with_unit(Quantity(abs(d.value), d.u, d.unit))
    allowed = digits.with_unit(Quantity(k * d.u, d.u, d.unit))
    side = "above" if d.value > 0 else "below"
    end = "they agree" if verdict == AGREE else "they do not agree"
    return (
        f"{label.capitalize()}: the measured value lies {size} {side} the prediction, where the "
        f"uncertainties allow {allowed}: {end}."
    )
