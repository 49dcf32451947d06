"""What was measured by hand, and what was predicted from it."""

from __future__ import annotations

from wayside.hand import digits
from wayside.hand.inputs import Input
from wayside.hand.predict import RESULTS, Prediction
from wayside.hand.prediction_text import FORMULA_TITLE, SHOWN, formula_rows, shift_sentence
from wayside.hand.setup import Setup
from wayside.measure.result import Measurement
from wayside.quantity import Quantity
from wayside.report.blocks import (
    HAND,
    NOTE,
    QUIET,
    Block,
    Items,
    Para,
    Section,
    Shown,
    Subhead,
    Table,
    Worked,
)
from wayside.report.figures.track import track_figure

_REASONS = {"stated": "stated", "read-off": "smallest step", "repeats": "scatter of repeats"}


def setup_section(setup: Setup, measurement: Measurement | None, key: str = "by-hand") -> Section:
    """Return the hand measurements with the picture of the track.

    Parameters
    ----------
    setup : Setup
    measurement : Measurement or None
        Its closest distance is drawn beside the taped one; None leaves the sound out.
    key : str
        Name for links.
    """
    blocks: list[Block] = []
    if setup.notes:
        blocks.append(Para(setup.notes, NOTE))
    blocks += [
        Para(f"Kind of source: {setup.kind.label}.", QUIET),
        inputs_table([i for i in setup.inputs if not i.assumed], "Measured by hand"),
    ]
    assumed = [i for i in setup.inputs if i.assumed and i.u > 0]
    if assumed:
        blocks.append(inputs_table(assumed, "Taken as usual, because it was not measured"))
    fit = measurement.fit if measurement is not None else None
    figure = track_figure(setup, fit.closest_m if fit is not None else None, f"{key}-track")
    if figure is not None:
        blocks.append(Shown(figure))
    return Section(key, "What was measured by hand", tuple(blocks))


def prediction_section(p: Prediction, key: str = "prediction") -> Section:
    """Return the worked prediction, its results and what the choice of formula does."""
    blocks: list[Block] = []
    if p.conversions:
        blocks += [Subhead("Getting the numbers ready"), *(Worked(s) for s in p.conversions)]
        blocks.append(Subhead("The working"))
    blocks += [Worked(s, k) for k, s in enumerate(p.steps, 1)]
    blocks += [results_table(p), Para(shift_sentence(p)), formula_table(p)]
    if p.notes:
        blocks += [Subhead("Mind"), Items(p.notes)]
    return Section(key, "What to expect, worked out", tuple(blocks))


def inputs_table(inputs: list[Input], caption: str) -> Table:
    """Return inputs as entered, with what their uncertainty rests on."""
    return Table(
        caption,
        ("quantity", "symbol", "value", "standard uncertainty", "how it is known"),
        tuple(_input_row(i) for i in inputs),
        ("", "", HAND, HAND, ""),
        frozenset({1, 4}),
    )


def results_table(p: Prediction) -> Table:
    """Return the results of a prediction."""
    rows = [
        (RESULTS[name][0], digits.full_text(q))
        for name in SHOWN
        if (q := getattr(p, name)) is not None
    ]
    return Table(
        "Predicted (± is one standard uncertainty)",
        ("quantity", "by hand"),
        tuple(rows),
        ("", HAND),
    )


def formula_table(p: Prediction) -> Table:
    """Return what each formula for the speed of sound would give."""
    head = ("formula", "speed of sound", "approach pitch", "recede pitch")
    return Table(FORMULA_TITLE, head, tuple(formula_rows(p)))


def _input_row(i: Input) -> tuple[str, ...]:
    own = Quantity(i.unit.from_si(i.value), i.unit.u_from_si(i.u), i.unit.symbol)
    return (
        i.label,
        i.field.symbol,
        digits.with_unit(own),
        digits.u_text(own) if own.u else "exact",
        _known(i),
    )


def _known(i: Input) -> str:
    parts = [f"{_REASONS.get(c.reason, c.reason)} ({c.distribution})" for c in i.components if c.u]
    if len(i.readings) > 1:
        parts.append(f"{len(i.readings)} readings: {', '.join(f'{r:g}' for r in i.readings)}")
    if i.tool:
        parts.append(f"with {i.tool}")
    return "; ".join(parts)
