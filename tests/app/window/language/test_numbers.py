"""Decimal comma and point: shown as the language has it, understood in either."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wayside.maths.parse import Text, parse
from wayside.session.typed import read_number, read_numbers
from wayside_app.window.language.numbers import latex_with_sign, plain, with_sign


@given(st.floats(-1e6, 1e6).map(lambda x: f"{x:.4f}"))
def test_a_number_survives_being_shown_and_typed(text: str) -> None:
    assert plain(with_sign(text, ",")) == text
    assert read_number(with_sign(text, ",")) == read_number(text)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("5,61", "5.61"),
        ("5.61", "5.61"),
        ("5,61 5,60; 5,63", "5.61 5.60; 5.63"),
        (",5", ".5"),
        ("-3,5", "-3.5"),
        ("1.234,5", "1.234,5"),
        ("1,234,5", "1,234,5"),
        ("", ""),
    ],
)
def test_typed_numbers_are_kept_with_a_point(typed: str, kept: str) -> None:
    assert plain(typed) == kept


@pytest.mark.parametrize("typed", ["1.234,5", "1,234.5", "1.234.567", "1,234,567", "1'234,5"])
def test_what_can_be_read_in_two_ways_is_refused_in_one_sentence(typed: str) -> None:
    with pytest.raises(ValueError, match="number in two ways") as refused:
        read_numbers(typed)
    assert typed in str(refused.value)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("8.47 ± 0.12 m/s", "8,47 ± 0,12 m/s"),
        ("take 2.5.wav", "take 2.5.wav"),
        ("1.2e-05", "1,2e-05"),
        ("ISO 9613-1, A.5", "ISO 9613-1, A.5"),
        ("from 1.5 s to 2.5 s.", "from 1,5 s to 2,5 s."),
    ],
)
def test_only_numbers_change_their_sign(text: str, shown: str) -> None:
    assert with_sign(text, ",") == shown


def test_a_decimal_comma_in_a_formula_is_part_of_its_number() -> None:
    """LaTeX puts a space after a comma unless braces enclose it."""
    latex = latex_with_sign(r"r = (21.80 \pm 0.20)\,\mathrm{cm}", ",")
    assert latex == r"r = (21{,}80 \pm 0{,}20)\,\mathrm{cm}"
    texts = [part.text for part in parse(latex).parts if isinstance(part, Text)]
    assert "21,80" in texts
    assert "0,20" in texts
    assert latex_with_sign("1.5", ".") == "1.5"
