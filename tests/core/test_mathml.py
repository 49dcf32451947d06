"""Formulas as MathML: structure after W3C MathML Core, for the lines the worked steps use."""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import tostring

import pytest

from wayside.hand.predict import predict
from wayside.hand.setup_file import read_setup
from wayside.maths.mathml import mathml

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_media").glob("*.setup.json"))


def written(latex: str) -> str:
    root = mathml(latex, "plain")
    assert root.get("alttext") == "plain"
    return "".join(tostring(child, "unicode") for child in root)


@pytest.mark.parametrize(
    ("latex", "expected"),
    [
        (
            r"v = \frac{D}{t_2 - t_1}",
            "<mrow><mi>v</mi><mo>=</mo><mfrac><mrow><mi>D</mi></mrow><mrow>"
            "<msub><mi>t</mi><mrow><mn>2</mn></mrow></msub><mo>−</mo>"
            "<msub><mi>t</mi><mrow><mn>1</mn></mrow></msub></mrow></mfrac></mrow>",
        ),
        (r"\sqrt{2}", "<mrow><msqrt><mrow><mn>2</mn></mrow></msqrt></mrow>"),
        ("x^{2}", "<mrow><msup><mi>x</mi><mrow><mn>2</mn></mrow></msup></mrow>"),
        ("12.75", "<mrow><mn>12.75</mn></mrow>"),
        (r"\mathrm{Hz}", '<mrow><mi mathvariant="normal">Hz</mi></mrow>'),
    ],
)
def test_structure(latex: str, expected: str) -> None:
    assert written(latex) == expected


def test_what_cannot_be_read_is_shown_as_plain_text() -> None:
    assert written(r"\unknown{<b>}") == "<mtext>plain</mtext>"


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.name)
def test_every_step_of_the_samples_can_be_read(path: Path) -> None:
    p = predict(read_setup(path))
    for step in (*p.conversions, *p.steps):
        for latex in (step.formula_latex, step.numbers_latex, step.result_latex):
            assert "mtext" not in written(latex), latex
