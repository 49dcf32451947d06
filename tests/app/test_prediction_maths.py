"""The formula reader and setter: everything the worked steps write can be read and is seen."""

from __future__ import annotations

import re

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from tests.core.hand.test_sources import SOURCES, data_of

from wayside.hand.predict import predict
from wayside.hand.setup_json import setup_from_json
from wayside.hand.sources import SOURCE_KINDS
from wayside.hand.steps import Step
from wayside.maths.parse import (
    BINARY,
    Fraction,
    Node,
    Root,
    Row,
    Scripts,
    Space,
    Text,
    before_relation,
    parse,
)
from wayside.physics.air import AIR_FORMULAS
from wayside_app.window.maths.boxes import Line, Stacked, Typesetter, broken
from wayside_app.window.maths.formula import FormulaView


def plain(node: Node) -> str:
    """Write a tree back as one line of plain text."""
    match node:
        case Text():
            return node.text
        case Space():
            return ""
        case Row(parts):
            return "".join(plain(part) for part in parts)
        case Fraction(top, bottom):
            return f"({plain(top)})/({plain(bottom)})"
        case Root(body):
            return f"√({plain(body)})"
        case Scripts(base, sub, sup):
            low = plain(sub) if sub else ""
            return plain(base) + low + (f"^{plain(sup)}" if sup else "")


def all_steps() -> list[Step]:
    """Return the steps of every kind of source, with every formula and with wind."""
    steps: list[Step] = []
    for kind in SOURCES:
        for formula in AIR_FORMULAS:
            for wind in ({}, {"wind_along": {"value": -2, "unit": "m/s", "u": 0.5}}):
                p = predict(setup_from_json(data_of(kind, formula=formula, **wind)))
                steps += [*p.conversions, *p.steps]
    return steps


def test_every_kind_of_source_is_covered() -> None:
    assert set(SOURCES) == set(SOURCE_KINDS)


def test_every_line_of_every_worked_step_can_be_read() -> None:
    for step in all_steps():
        for latex in (step.formula_latex, step.numbers_latex, step.result_latex):
            parse(latex)


def test_what_is_read_holds_the_same_numbers_as_the_text() -> None:
    """The rendered line and the plain line of a step must not disagree in any number."""
    number = re.compile(r"\d+(?:\.\d+)?")
    for step in all_steps():
        for text, latex in (
            (step.numbers, step.numbers_latex),
            (step.result, step.result_latex),
        ):
            left, right = before_relation(parse(latex))
            assert left.parts or not latex
            wanted = number.findall(text.split("=", 1)[-1])
            found = number.findall(plain(right))
            assert sorted(found) == sorted(wanted), (text, latex)


@pytest.mark.parametrize(
    ("latex", "text"),
    [
        # reading of standard LaTeX, as in any introduction to it
        (r"\frac{a}{b} \times 2", "(a)/(b)×2"),
        (r"f_0 = 2\pi \times 0.5", "f0=2π×0.5"),
        (r"c = 343.2\,\sqrt{\frac{T + 273.15}{293.15}}", "c=343.2√((T+273.15)/(293.15))"),
        (r"x_\mathrm{w}^2 - 3", "xw^2−3"),
        (r"20\,{}^\circ\mathrm{C}", "20°C"),
        (r"50\,\% \pm 3", "50%±3"),
    ],
)
def test_reading(latex: str, text: str) -> None:
    assert plain(parse(latex)) == text


@pytest.mark.parametrize(
    "latex", [r"\frac{a", r"a}", r"\unknown{x}", r"a & b", r"x_1_2", r"\mathrm{\alpha}", r"\frac a"]
)
def test_what_is_not_understood_is_refused(latex: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        parse(latex)


def test_a_leading_minus_belongs_to_its_number() -> None:
    assert parse("-3").parts[0] == Text("−")
    assert parse("(-3)").parts[1] == Text("−")
    assert parse("4 - 3").parts[1] == Text("−", role=BINARY)


def test_a_fraction_is_taller_and_centred(qapp: QApplication) -> None:
    setter = Typesetter(12.0)
    flat, high = setter.line(parse("a b")), setter.line(parse(r"\frac{a}{b}"))
    assert high.height > 1.8 * flat.height
    assert isinstance(high.boxes[0], Stacked)
    # the bar lies on the axis, between baseline and top of the letters
    assert high.ascent > flat.ascent
    assert high.descent > flat.descent


def test_long_lines_break_before_signs(qapp: QApplication) -> None:
    line: Line = Typesetter(12.0).line(parse("= 123.4 + 234.5 - 345.6 + 456.7"))
    pieces = broken(line, 0.45 * line.width)
    assert len(pieces) > 1
    assert all(piece.width <= 0.45 * line.width for piece in pieces)
    assert sum(piece.width for piece in pieces) == pytest.approx(line.width)


def test_lists_break_after_commas(qapp: QApplication) -> None:
    line: Line = Typesetter(12.0).line(parse(r"= c(18.00, 1.02\,\%, 101300\,\mathrm{Pa}, 0.00042)"))
    pieces = broken(line, 0.6 * line.width)
    assert len(pieces) == 2
    assert all(piece.width <= 0.6 * line.width for piece in pieces)


def test_a_view_paints_says_and_grows(qtbot: QtBot) -> None:
    view = FormulaView()
    qtbot.addWidget(view)
    view.set_look("#102030", "#a04000", 12.0)
    view.show_lines([r"v = \frac{D}{t}", r"v = 3\,\mathrm{m/s}"], ["v = D / t", "v = 3 m/s"])
    view.resize(300, view.heightForWidth(300))
    assert view.accessibleDescription() == "v = D / t; v = 3 m/s"
    small = view.heightForWidth(300)
    view.set_look("#102030", "#a04000", 24.0)
    assert view.heightForWidth(300) > 1.5 * small
    view.resize(300, view.heightForWidth(300))
    image = view.grab().toImage()
    colours = {
        image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())
    }
    assert {"#102030", "#a04000"} <= colours


def test_what_cannot_be_read_is_shown_as_text(qtbot: QtBot) -> None:
    view = FormulaView()
    qtbot.addWidget(view)
    view.show_lines([r"\unknown{x}"], ["x is unknown"])
    view.resize(200, view.heightForWidth(200))
    assert view.sizeHint().width() > 20
