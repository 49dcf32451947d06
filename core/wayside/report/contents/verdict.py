"""The verdict first, and then prediction and recording side by side."""

from __future__ import annotations

import math

from wayside.compare.comparison_text import explanations_text, row_cells, signed
from wayside.compare.result import AGREE, UNTESTED, Comparison, Explanation
from wayside.hand import digits
from wayside.quantity import Quantity
from wayside.report.blocks import (
    HAND,
    SOUND,
    VERDICT,
    Block,
    Items,
    Para,
    Section,
    Shown,
    Subhead,
    Table,
)
from wayside.report.figures.agreement import agreement_figure
from wayside.report.material import Material

MAIN = ("speed_mps", "source_hz", "approach_hz", "recede_hz")
_MOST = 8


def verdict_section(m: Material, key: str = "verdict") -> Section:
    """Return the verdict, or what can be said without one, with the main numbers."""
    c, measured = m.comparison, m.measurement
    blocks: list[Block] = []
    if c is not None:
        blocks += [Para(c.verdict, VERDICT, c.overall), _main_table(c)]
        figure = agreement_figure(c.rows, f"{key}-agreement")
        if figure is not None:
            blocks.append(Shown(figure))
    elif measured is not None and measured.fit is not None:
        speed = digits.full_text(measured.fit.speed_mps)
        source = digits.full_text(measured.fit.source_hz)
        text = f"The sound says {speed}, with a source pitch of {source}."
        blocks.append(Para(text, VERDICT, UNTESTED))
    elif measured is not None:
        blocks.append(Para(measured.detection.reason, VERDICT, UNTESTED))
    elif m.prediction is not None:
        p = m.prediction
        text = (
            f"Expected by hand: {digits.full_text(p.approach_hz)} on approach and "
            f"{digits.full_text(p.recede_hz)} while receding."
        )
        blocks.append(Para(text, VERDICT, UNTESTED))
    if m.remark:
        blocks.append(Para(m.remark))
    return Section(key, "Verdict", tuple(blocks))


def sides_section(c: Comparison, key: str = "side-by-side") -> Section:
    """Return every quantity side by side, and what would explain a difference."""
    blocks: list[Block] = [
        Table(
            "Predicted and measured (± is one standard uncertainty)",
            ("quantity", "by hand", "by sound", "difference", "%", "cents", "E_n", "verdict"),
            tuple(row_cells(r) for r in c.rows),
            ("", HAND, SOUND, "", "", "", "", ""),
            frozenset({7}),
        ),
        Para(
            "Difference is sound minus hand, what both share counted once. E_n is the difference "
            "over its expanded uncertainty: from −1 to +1 the two agree (ISO 13528)."
        ),
        Items(tuple(r.sentence for r in c.rows)),
    ]
    if not math.isnan(c.p_value):
        blocks.append(Para(_joint(c)))
    if c.readings:
        blocks += [Subhead("In the reading windows"), Items(tuple(r.sentence for r in c.readings))]
    blocks += _explanations(c)
    if c.turned_round:
        turned = tuple(t.sentence for t in c.turned_round)
        blocks += [Subhead("Turned round, from the measured speed and pitch"), Items(turned)]
    if c.notes:
        blocks += [Subhead("Mind"), Items(c.notes)]
    return Section(key, "Side by side", tuple(blocks))


def _main_table(c: Comparison) -> Table:
    rows = [
        (r.label, digits.full_text(r.predicted), digits.full_text(r.measured), r.verdict)
        for r in c.rows
        if r.name in MAIN
    ]
    return Table(
        "Hand and sound (± is one standard uncertainty)",
        ("quantity", "by hand", "by sound", "verdict"),
        tuple(rows),
        ("", HAND, SOUND, ""),
        frozenset({3}),
    )


def _joint(c: Comparison) -> str:
    chance = f"{100 * c.p_value:.2g} %" if c.p_value >= 1e-4 else "fewer than 0.01 %"
    degrees = "degree" if c.dof == 1 else "degrees"
    return (
        f"Pitches taken together: chi-square {c.chi_square:.2f} with {c.dof} {degrees} of freedom; "
        f"a difference this large or larger comes by chance in {chance} of runs."
    )


def _explanations(c: Comparison) -> list[Block]:
    head = explanations_text(c).split("\n", 1)[0]
    if not head:
        return []
    blocks: list[Block] = [Subhead("What would explain a difference"), Para(head)]
    if c.overall == AGREE:
        return blocks
    good = [e for e in c.explanations if e.explains]
    near = [e for e in c.explanations if e.remaining < 0.5 * c.chi_square]
    listed = (good or near)[:_MOST]
    if not listed:
        return blocks
    rows = tuple(_explanation(e) for e in listed)
    head_row = ("entry", "given", "would have to be", "stretch", "then they agree")
    worded = frozenset({4})
    return [
        *blocks,
        Table("One entry at a time, likeliest first", head_row, rows, ("", HAND), worded),
        Items(tuple(e.sentence for e in listed), numbered=True),
    ]


def _explanation(e: Explanation) -> tuple[str, ...]:
    label = f"{e.label}{' (assumed)' if e.assumed else ''}"
    stretch = "given as exact" if e.sigmas is None else f"{signed(e.sigmas, 1)} u"
    return (
        label,
        digits.full_text(Quantity(e.given, e.u, e.unit)),
        digits.full_text(e.needed),
        stretch,
        "yes" if e.explains else "no",
    )
