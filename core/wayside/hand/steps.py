"""One line of the worked solution: formula, numbers put in, result.

Formulas are templates with ``<name>`` where a symbol belongs; the same template gives the
formula (symbols put in) and the worked line (numbers with units put in), in plain text and
in LaTeX, so the two can never disagree.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wayside.hand import digits
from wayside.quantity import Quantity


@dataclass(frozen=True)
class Symbol:
    """A letter and what it stands for."""

    text: str
    latex: str
    quantity: Quantity


@dataclass(frozen=True)
class Step:
    """One worked step.

    Parameters
    ----------
    title : str
        What is worked out.
    formula, numbers, result : str
        Plain text, e.g. ``"v = D / (t₂ − t₁)"``, the same with numbers and units, and the
        result with uncertainty. `numbers` is empty and `formula` is the result itself where
        a value is only taken over.
    formula_latex, numbers_latex, result_latex : str
        The same as LaTeX, without delimiters.
    quantity : Quantity
        The unrounded result.
    note : str
        A remark for the board; may be empty.
    """

    title: str
    formula: str
    numbers: str
    result: str
    formula_latex: str
    numbers_latex: str
    result_latex: str
    quantity: Quantity
    note: str = ""

    @property
    def text(self) -> str:
        """The step as lines of plain text."""
        lines = [self.title]
        lines += [f"    {line}" for line in _distinct(self.formula, self.numbers, self.result)]
        if self.note:
            lines.append(f"    ({self.note})")
        return "\n".join(lines)

    @property
    def latex(self) -> str:
        """The step as an ``align*`` body, ready to paste between dollar signs."""
        lines = _distinct(self.formula_latex, self.numbers_latex, self.result_latex)
        return (
            r"\begin{aligned}"
            + r" \\ ".join(line.replace("=", "&=", 1) for line in lines)
            + r"\end{aligned}"
        )


def work_out(
    title: str,
    result: Symbol,
    text: str,
    latex: str,
    symbols: Mapping[str, Symbol],
    note: str = "",
) -> Step:
    """Write a step from its templates.

    Parameters
    ----------
    title : str
        What is worked out.
    result : Symbol
        The left-hand side with its value.
    text, latex : str
        Right-hand side with ``<name>`` for every symbol.
    symbols : mapping
        The symbols by name.
    note : str
        A remark.
    """
    return Step(
        title,
        f"{result.text} = {_fill(text, {k: s.text for k, s in symbols.items()})}",
        f"{result.text} = {_fill(text, {k: _number(s.quantity) for k, s in symbols.items()})}",
        f"{result.text} = {digits.full_text(result.quantity)}",
        f"{result.latex} = {_fill(latex, {k: s.latex for k, s in symbols.items()})}",
        f"{result.latex} = "
        + _fill(latex, {k: _number_latex(s.quantity) for k, s in symbols.items()}),
        f"{result.latex} = {digits.full_latex(result.quantity)}",
        result.quantity,
        note,
    )


def take_over(title: str, result: Symbol, note: str = "") -> Step:
    """Return a step that only states a value as given."""
    text = f"{result.text} = {digits.full_text(result.quantity)}"
    latex = f"{result.latex} = {digits.full_latex(result.quantity)}"
    return Step(title, text, "", text, latex, "", latex, result.quantity, note)


def _distinct(*lines: str) -> list[str]:
    return [line for line in dict.fromkeys(lines) if line]


def _fill(template: str, parts: Mapping[str, str]) -> str:
    for name, part in parts.items():
        template = template.replace(f"<{name}>", part)
    return template


def _number(q: Quantity) -> str:
    text = digits.with_unit(q)
    return f"({text})" if text.startswith(digits.MINUS) else text


def _number_latex(q: Quantity) -> str:
    text = digits.with_unit_latex(q)
    return f"({text})" if text.startswith("-") else text
