"""Numbers as the user reads them: sensible digits, and the decimal sign of the language."""

from __future__ import annotations

import math
from dataclasses import replace

from PySide6.QtCore import QLocale

from wayside.hand import digits
from wayside.quantity import Quantity
from wayside_app.window.language import numbers

MINUS = digits.MINUS


def local(text: str) -> str:
    """Put the language's decimal sign into a text of numbers."""
    return text.replace(".", QLocale().decimalPoint())


def typed(text: str) -> str:
    """Write numbers that a person typed, here or in another language."""
    return numbers.with_sign(numbers.plain(text), QLocale().decimalPoint())


def formula(text: str) -> str:
    """Put the language's decimal sign into a formula written as text."""
    return numbers.with_sign(text, QLocale().decimalPoint())


def formula_latex(latex: str) -> str:
    """Put the language's decimal sign into a formula written as LaTeX."""
    return numbers.latex_with_sign(latex, QLocale().decimalPoint())


def general(value: float, places: int = 6) -> str:
    """Write a number with at most so many significant digits and a true minus sign."""
    return local(f"{value:.{places}g}".replace("-", digits.MINUS))


def full(quantity: Quantity) -> str:
    """Write value, standard uncertainty and unit, e.g. ``8.47 ± 0.12 m/s``."""
    return local(digits.full_text(quantity))


def bare(quantity: Quantity) -> str:
    """Write the same without the unit."""
    return local(digits.full_text(replace(quantity, unit="")))


def plain(value: float, places: int) -> str:
    """Write a number with fixed places and a true minus sign."""
    if not math.isfinite(value):
        return "–"
    return local(f"{value:.{places}f}".replace("-", digits.MINUS))


def signed(value: float, places: int) -> str:
    """Write a number with its sign."""
    return ("+" if value >= 0 else "") + plain(value, places)


def signed_difference(quantity: Quantity) -> str:
    """Write a difference with its sign, to the digits its uncertainty supports."""
    text = digits.number_text(quantity)
    return local(text if text.startswith(digits.MINUS) else "+" + text)


def bare_u(quantity: Quantity) -> str:
    """Write the standard uncertainty alone, with its unit."""
    return local(digits.u_text(quantity))


def value(quantity: Quantity) -> str:
    """Write value and unit, to the digits the uncertainty supports."""
    return local(digits.with_unit(quantity))


def number(x: float, place: Quantity) -> str:
    """Write a number alone, to the digits another quantity's uncertainty supports."""
    return local(digits.number_text(replace(place, value=x)))
