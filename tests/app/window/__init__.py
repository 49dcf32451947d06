"""Tests of the window; they need no screen, whatever imports Qt first."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
