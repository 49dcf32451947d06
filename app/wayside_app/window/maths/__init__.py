"""Formulas on the screen: a small part of LaTeX read, set and painted."""
