"""Formulas: read from LaTeX into a tree, and written as MathML."""
