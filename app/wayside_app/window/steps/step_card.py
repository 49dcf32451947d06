"""One step on the board: what is worked out, the formula with numbers and result, a remark."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from wayside.hand.steps import Step
from wayside_app.window import figures
from wayside_app.window.controls import text_label
from wayside_app.window.maths.formula import FormulaView
from wayside_app.window.theme.looks import Look
from wayside_app.window.words import said


class StepCard(QFrame):
    """Shows one step; its button copies it as text or as LaTeX."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", "step")
        self._step: Step | None = None
        self.title = text_label("step-title", "", wrap=True)
        self.formula = FormulaView(self)
        self.note = text_label("quiet", "", wrap=True)
        self.copy = QPushButton(self.tr("Copy"), self)
        self.copy.setProperty("part", "fold")
        menu = QMenu(self)
        self.as_text = menu.addAction(self.tr("as &text"), self.copy_text)
        self.as_latex = menu.addAction(self.tr("as &LaTeX"), self.copy_latex)
        self.copy.setMenu(menu)
        foot = QHBoxLayout()
        foot.addWidget(self.note, 1, Qt.AlignmentFlag.AlignBottom)
        foot.addStretch(0)
        foot.addWidget(self.copy, 0, Qt.AlignmentFlag.AlignBottom)
        column = QVBoxLayout(self)
        column.setContentsMargins(10, 6, 6, 2)
        column.setSpacing(4)
        column.addWidget(self.title)
        column.addWidget(self.formula)
        column.addStretch(1)
        column.addLayout(foot)

    def show_step(self, step: Step, number: int) -> None:
        """Show a step; number 0 means it bears none."""
        if step == self._step:
            return
        self._step = step
        title = said(step.title)
        self.title.setText(f"{number}. {title}" if number else title)
        lines = distinct_lines(step)
        self.formula.setAccessibleName(title)
        self.formula.show_lines([latex for _, latex in lines], [text for text, _ in lines])
        self.note.setText(said(step.note))
        self.note.setVisible(bool(step.note))
        self.copy.setAccessibleName(self.tr("Copy the step: {title}").format(title=title))
        self.copy.setAccessibleDescription("; ".join(text for text, _ in lines))

    def set_look(self, look: Look, points: float) -> None:
        """Take the colours and the text size."""
        self.formula.set_look(look.text, look.hand, 1.15 * points)

    def copy_text(self) -> None:
        """Put the step on the clipboard as text."""
        if self._step is not None:
            QApplication.clipboard().setText(figures.formula(self._step.text))

    def copy_latex(self) -> None:
        """Put the step on the clipboard as LaTeX."""
        if self._step is not None:
            QApplication.clipboard().setText(latex_of(self._step))


def distinct_lines(step: Step) -> list[tuple[str, str]]:
    """Return the lines of a step as (text, LaTeX), each once, the result last."""
    texts = (step.formula, step.numbers, step.result)
    latex = (step.formula_latex, step.numbers_latex, step.result_latex)
    lines = dict(zip(texts, latex, strict=True))
    return [(figures.formula(t), figures.formula_latex(x)) for t, x in lines.items() if t]


def latex_of(step: Step) -> str:
    """Return a step as a displayed formula with its title as a comment."""
    return f"% {said(step.title)}\n\\[{figures.formula_latex(step.latex)}\\]"
