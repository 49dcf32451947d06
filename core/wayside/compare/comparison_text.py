"""The comparison as plain text: a table, the verdict, and what would explain a difference."""

from __future__ import annotations

import math

from wayside.compare.result import AGREE, UNTESTED, Comparison, Row
from wayside.hand import digits
from wayside.hand.tables import table

_HEAD = ("", "predicted", "measured", "difference", "%", "cents", "E_n", "")
_MOST = 6


def comparison_as_text(c: Comparison) -> str:
    """Return the whole comparison as plain text, ending with the verdict."""
    title = c.prediction.setup.title or "Prediction and recording"
    blocks = [f"{title}\n{'=' * len(title)}", table_text(c), sentences_text(c)]
    blocks += [
        readings_text(c),
        explanations_text(c),
        turned_round_text(c),
        _notes(c),
        verdict_text(c),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def table_text(c: Comparison) -> str:
    """Return predicted and measured values side by side."""
    lines = ["Predicted and measured (± is one standard uncertainty)"]
    return "\n".join(lines + table([_HEAD, *(row_cells(row) for row in c.rows)]))


def sentences_text(c: Comparison) -> str:
    """Return the verdict on each quantity in plain words."""
    return "\n".join(row.sentence for row in c.rows)


def readings_text(c: Comparison) -> str:
    """Return what the reading windows should show at their finite distance."""
    if not c.readings:
        return ""
    return "\n".join(["In the reading windows:", *(f"    {r.sentence}" for r in c.readings)])


def explanations_text(c: Comparison) -> str:
    """Return which single input would explain the difference, likeliest first."""
    if not c.explanations:
        return ""
    if c.overall == AGREE:
        return "Nothing needs explaining: no hand measurement need be wrong."
    good = [e for e in c.explanations if e.explains]
    near = [e for e in c.explanations if e.remaining < 0.5 * c.chi_square]
    if good:
        head = "One of these alone, if wrong, would explain the difference (likeliest first):"
    elif near:
        head = "No single input explains the difference. These would come closest:"
    else:
        return "No single input, however wrong, comes near explaining the difference."
    listed = (good or near)[:_MOST]
    return "\n".join([head, *(f"    {k}. {e.sentence}" for k, e in enumerate(listed, 1))])


def turned_round_text(c: Comparison) -> str:
    """Return what the recording alone says about the hand measurements."""
    if not c.turned_round:
        return ""
    lines = ["Turned round, from the measured speed and pitch:"]
    return "\n".join(lines + [f"    {t.sentence}" for t in c.turned_round])


def verdict_text(c: Comparison) -> str:
    """Return the overall verdict with the joint test behind it."""
    if math.isnan(c.p_value):
        return c.verdict
    return (
        f"{c.verdict}\n(Pitches taken together: chi-square {c.chi_square:.2f} with {c.dof} "
        f"degree{'s' if c.dof > 1 else ''} of freedom; a difference this large or larger comes "
        f"by chance in {_chance(c.p_value)}.)"
    )


def _chance(p: float) -> str:
    if p < 1e-4:
        return "fewer than 1 in 10000 runs"
    return f"{100 * p:.2g} % of runs"


def row_cells(row: Row) -> tuple[str, ...]:
    """Return quantity, prediction, measurement, difference, %, cents, E_n and verdict."""
    tested = row.verdict != UNTESTED
    return (
        row.label,
        digits.full_text(row.predicted),
        digits.full_text(row.measured),
        digits.full_text(row.difference) if tested else "",
        signed(row.percent, 2) if tested and math.isfinite(row.percent) else "",
        signed(row.cents, 1) if tested and row.cents is not None else "",
        signed(row.e_n, 2) if tested and math.isfinite(row.e_n) else "",
        row.verdict,
    )


def signed(x: float, places: int) -> str:
    """Return a number with its sign and so many decimal places."""
    return f"{round(x, places) + 0.0:+.{places}f}".replace("-", digits.MINUS)


def _notes(c: Comparison) -> str:
    return "\n".join(["Mind:", *(f"    {note}" for note in c.notes)]) if c.notes else ""
