"""Accuracy, coverage, refusal and cost of the measurement.

Each runner is ``python -m tests.benchmarks.NAME``; plain pytest collects only small checks of
their machinery.
"""
