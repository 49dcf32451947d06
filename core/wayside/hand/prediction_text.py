"""The prediction as plain text: worked steps, results, what limits them."""

from __future__ import annotations

from collections.abc import Sequence

from wayside.hand import digits
from wayside.hand.inputs import Input
from wayside.hand.predict import RESULTS, Prediction
from wayside.hand.tables import table, two_columns
from wayside.physics.air import AIR_FORMULAS
from wayside.quantity import Quantity

FORMULA_TITLE = "What the choice of formula for the speed of sound does"
SHOWN = (
    "speed_mps",
    "cycles_per_metre",
    "source_hz",
    "sound_speed_mps",
    "approach_hz",
    "recede_hz",
    "shift_up_hz",
    "shift_down_hz",
    "drop_cents",
    "closest_m",
    "passing_time_s",
)


def prediction_as_text(p: Prediction, extra: Sequence[str] = ()) -> str:
    """Return the whole worked solution as plain text, ending with the results.

    Parameters
    ----------
    p : Prediction
    extra : sequence of str
        Further blocks before the results: budgets, sampling, shortcuts.
    """
    blocks = [_heading(p), _measured(p), *(step.text for step in p.conversions)]
    blocks += [f"{i}. {step.text}" for i, step in enumerate(p.steps, 1)]
    blocks += [*extra, formula_text(p), _notes(p), results_text(p)]
    return "\n\n".join(block for block in blocks if block) + "\n"


def results_text(p: Prediction) -> str:
    """Return the results as a table, with what the shifts amount to."""
    rows = [
        (RESULTS[name][0], digits.full_text(q))
        for name in SHOWN
        if (q := getattr(p, name)) is not None
    ]
    lines = ["Results (± is one standard uncertainty)", *two_columns(rows)]
    lines.append(shift_sentence(p))
    return "\n".join(lines)


def shift_sentence(p: Prediction) -> str:
    """Say how far each pitch lies from the source pitch, and whether that is symmetric."""
    up, down, f0 = p.shift_up_hz.value, p.shift_down_hz.value, p.source_hz.value
    head = (
        f"Approach lies {digits.with_unit(p.shift_up_hz)} ({100 * up / f0:.2f} %) above the source "
        f"pitch, recede {digits.with_unit(p.shift_down_hz)} ({100 * down / f0:.2f} %) below it"
    )
    if abs(up - down) < 1e-9 * f0:
        return f"{head}: the same amount, because only the observer moves."
    middle = 0.5 * (p.approach_hz.value + p.recede_hz.value)
    off = middle - f0
    return (
        f"{head}. They are not symmetric: the point half-way between the two pitches lies "
        f"{abs(off):.2g} Hz {'above' if off > 0 else 'below'} the source pitch."
    )


def formula_text(p: Prediction) -> str:
    """Return what each formula for the speed of sound would give."""
    head = ("", "speed of sound", "approach", "recede")
    return "\n".join([FORMULA_TITLE, *table([head, *formula_rows(p)])])


def formula_rows(p: Prediction) -> list[tuple[str, str, str, str]]:
    """Return a row a formula: name, speed of sound, approach and recede pitch."""
    rows = []
    for e in p.formulas:
        chosen = " (chosen)" if e.formula == p.setup.formula else ""
        rows.append(
            (
                AIR_FORMULAS[e.formula].label + chosen,
                f"{e.sound_speed_mps:.2f} m/s",
                digits.with_unit(Quantity(e.approach_hz, p.approach_hz.u / 10, "Hz")),
                digits.with_unit(Quantity(e.recede_hz, p.recede_hz.u / 10, "Hz")),
            )
        )
    return rows


def _heading(p: Prediction) -> str:
    title = p.setup.title or "Prediction"
    return f"{title}\n{'=' * len(title)}" + (f"\n{p.setup.notes}" if p.setup.notes else "")


def _measured(p: Prediction) -> str:
    rows = [
        (f"{i.label} {i.field.symbol}", _as_entered(i)) for i in p.setup.inputs if not i.assumed
    ]
    return "\n".join(["Measured by hand", *two_columns(rows)])


def _as_entered(i: Input) -> str:
    return digits.full_text(Quantity(i.unit.from_si(i.value), i.unit.u_from_si(i.u), i.unit.symbol))


def _notes(p: Prediction) -> str:
    return "\n".join(["Mind:", *(f"    {note}" for note in p.notes)]) if p.notes else ""
