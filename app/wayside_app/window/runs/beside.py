"""Two glides to be shown over each other: which they are, and what is to be said of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QCoreApplication

from wayside.errors import InputError
from wayside.quantity import Quantity
from wayside.review.aligned import Aligned, align, measured_glide, predicted_glide
from wayside.review.far_apart import FarApart, run_from_hand, run_from_run
from wayside_app.window import figures
from wayside_app.window.bench import Bench
from wayside_app.window.runs.store import unique_title
from wayside_app.window.twins.twin_table import Twin
from wayside_app.window.words import said

_TOLD_U = 2.0
_FINEST = 0.1


@dataclass(frozen=True)
class Beside:
    """What the screen shows.

    Parameters
    ----------
    first, second : str
        Names of the two.
    by_hand : bool
        True when the second is what the hand expects.
    aligned : Aligned or None
    apart : FarApart
    why_not : str
        Why there is nothing to be seen; empty if there is.
    """

    first: str
    second: str
    by_hand: bool
    aligned: Aligned | None
    apart: FarApart
    why_not: str = ""

    @property
    def sentence(self) -> str:
        """One sentence for who does not see the picture."""
        if self.aligned is None:
            return self.why_not
        return _tr(
            "Pitch over time of {first} and of {second}, set over each other at the passing, "
            "and their difference below: {approach} on approach, {recede} receding."
        ).format(
            first=self.first,
            second=self.second,
            approach=cents_text(self.apart.approach),
            recede=cents_text(self.apart.recede),
        )


def beside(bench: Bench, other_key: int | None) -> Beside:
    """Set the run that is shown beside its prediction, or beside another run."""
    session = bench.session
    name = unique_title(session, session.shown)
    seen = bench.runs.seen(session, session.shown)
    place = None if other_key is None else session.place(other_key)
    nothing = FarApart(None, None)
    other = _tr("what the hand expects") if place is None else unique_title(session, place)
    m = seen.measurement
    try:
        if m is None:
            why = seen.row.sentence or _tr("This run is not measured yet.")
            return Beside(name, other, place is None, None, nothing, said(why))
        glide = measured_glide(m)
        if place is None:
            if seen.prediction is None:
                why = _tr("The form of this run is not complete, so the hand expects nothing yet.")
                return Beside(name, other, True, None, nothing, why)
            aligned = align(glide, predicted_glide(seen.prediction, m))
            apart = nothing if seen.comparison is None else run_from_hand(seen.comparison)
            return Beside(name, other, True, aligned, apart)
        second = bench.runs.seen(session, place).measurement
        if second is None:
            why = _tr("{name} is not measured yet.").format(name=other)
            return Beside(name, other, False, None, nothing, why)
        aligned = align(glide, measured_glide(second))
        return Beside(name, other, False, aligned, run_from_run(m, second))
    except InputError as error:
        return Beside(name, other, place is None, None, nothing, said(str(error)))


def cents_text(quantity: Quantity | None) -> str:
    """Write an interval with its sign and standard uncertainty."""
    if quantity is None or not math.isfinite(quantity.value):
        return "–"
    sign = "+" if round(quantity.value, 2) > 0 else ""
    if quantity.u < _FINEST:
        # adding nothing takes the sign off a zero
        value = round(quantity.value, 2) + 0.0
        number = f"{figures.plain(value, 2)} ± {figures.plain(max(quantity.u, 0.01), 2)}"
    else:
        number = figures.bare(quantity)
    return f"{sign}{number} " + _tr("cents")


def tells(quantity: Quantity | None) -> bool:
    """Tell whether an interval is more than its uncertainty allows (twice the standard one)."""
    return quantity is not None and abs(quantity.value) > _TOLD_U * quantity.u


def beside_twin(shown: Beside) -> Twin | None:
    """Return the numbers behind the picture."""
    a = shown.aligned
    if a is None:
        return None
    return Twin(
        _tr("{first} and {second} over each other").format(first=shown.first, second=shown.second),
        (
            _tr("time from the passing (s)"),
            _tr("{name} (Hz)").format(name=shown.first),
            _tr("{name} (Hz)").format(name=shown.second),
            _tr("difference (cents)"),
            _tr("its uncertainty (cents)"),
        ),
        (a.times_s, a.first_hz, a.second_hz, a.cents, a.u_cents),
    )


def _tr(text: str) -> str:
    return QCoreApplication.translate("Review", text)
