"""What a comparison returns: plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from wayside.hand.predict import Prediction
from wayside.measure.result import Measurement
from wayside.quantity import Quantity

AGREE, DISAGREE, BORDERLINE, UNTESTED = "agree", "disagree", "borderline", "untested"


@dataclass(frozen=True)
class Row:
    """One quantity, predicted and measured.

    Parameters
    ----------
    name, label : str
        Result name, e.g. ``"approach_hz"``, and its name for people.
    predicted, measured : Quantity
    difference : Quantity
        Measured minus predicted; its uncertainty combines both sides, shared inputs counted
        once.
    k : float
        Coverage factor: 2, or more if repeats were few.
    percent : float
        Difference as a percentage of the prediction.
    cents : float or None
        Difference as an interval, for pitches.
    e_n : float
        Normalised error, difference over its expanded uncertainty k u; NaN if untested.
    verdict : str
        ``"agree"`` when ``|e_n| <= 1``, ``"disagree"``, or ``"untested"``.
    sentence : str
        The verdict in plain words.
    """

    name: str
    label: str
    predicted: Quantity
    measured: Quantity
    difference: Quantity
    k: float
    percent: float
    cents: float | None
    e_n: float
    verdict: str
    sentence: str


@dataclass(frozen=True)
class Explanation:
    """One input taken as the only wrong one.

    Parameters
    ----------
    path, label : str
        The input.
    unit : str
        The unit the user chose; every number below is in it.
    given, u : float
        Its value and standard uncertainty.
    needed : Quantity
        The value it would need, with the uncertainty of that value.
    off : float
        Needed minus given.
    sigmas : float or None
        `off` in the input's own standard uncertainties; None when it was given as exact.
    explains : bool
        Whether prediction and measurement then agree.
    remaining : float
        Chi-square that is left, one degree of freedom.
    assumed : bool
        True when the user did not give the input.
    sentence : str
        The same in plain words.
    """

    path: str
    label: str
    unit: str
    given: float
    u: float
    needed: Quantity
    off: float
    sigmas: float | None
    explains: bool
    remaining: float
    assumed: bool
    sentence: str


@dataclass(frozen=True)
class TurnedRound:
    """An input as the recording alone would have it.

    Parameters
    ----------
    path : str
        The input.
    value : Quantity
        What follows from the measured speed and pitch.
    given : Quantity
        What the hand measurements say.
    sentence : str
        E.g. "Your wheel's effective radius is then 32.1 ± 0.4 cm (by hand 31.8 ± 0.3 cm)."
    """

    path: str
    value: Quantity
    given: Quantity
    sentence: str


@dataclass(frozen=True)
class Reading:
    """What a reading window should show, at its finite distance.

    Parameters
    ----------
    name : str
        ``"approach"`` or ``"recede"``.
    start_s, stop_s : float
        The window on the recording's clock (s).
    read : Quantity
        Pitch read in it (Hz).
    far_hz : float
        Predicted pitch far away (Hz).
    here_hz : float
        Predicted pitch averaged over the window, where the source is not far yet (Hz).
    sentence : str
    """

    name: str
    start_s: float
    stop_s: float
    read: Quantity
    far_hz: float
    here_hz: float
    sentence: str


@dataclass(frozen=True)
class Comparison:
    """Prediction and measurement side by side.

    Parameters
    ----------
    prediction : Prediction
    measurement : Measurement or None
        None when the pitches were not measured in a recording.
    rows : tuple of Row
    overall : str
        ``"agree"``, ``"borderline"`` or ``"disagree"``.
    verdict : str
        The same in plain words.
    chi_square, p_value : float
        Joint test of the pitches heard, and its probability if all is well (chi-square, or
        F with the least degrees of freedom of any direction if repeats were few).
    dof : int
        How many pitches the joint test uses.
    explanations : tuple of Explanation
        Ranked: those that explain the difference first, smallest stretch first.
    turned_round : tuple of TurnedRound
    readings : tuple of Reading
        The reading windows of the recording, if it has any.
    notes : tuple of str
    """

    prediction: Prediction
    measurement: Measurement | None
    rows: tuple[Row, ...]
    overall: str
    verdict: str
    chi_square: float
    p_value: float
    dof: int
    explanations: tuple[Explanation, ...]
    turned_round: tuple[TurnedRound, ...]
    readings: tuple[Reading, ...]
    notes: tuple[str, ...]

    def row(self, name: str) -> Row | None:
        """Return the row of that name, or None."""
        return next((r for r in self.rows if r.name == name), None)
