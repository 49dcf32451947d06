"""Accuracy, coverage, refusal and cost of the measurement.

Each runner is ``python -m tests.benchmarks.NAME``; plain pytest collects only small checks of
their machinery.
"""

import os

# small matrices: threads of the algebra library only hinder runs side by side
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
