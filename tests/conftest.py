"""Shared test rules: no unexpected skips, and an optional block on Qt for the core's tests."""

from __future__ import annotations

import importlib.abc
import importlib.machinery
import os
import sys
from collections.abc import Sequence
from types import ModuleType

import pytest
from hypothesis import HealthCheck, settings

# small matrices: threads of the algebra library only hinder tests that run side by side
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# how long an invented example takes says how busy the machine is, not whether a test holds
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

BLOCKED = ("PySide6", "shiboken6", "pyqtgraph")


class _NoQt(importlib.abc.MetaPathFinder):
    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if name.split(".")[0] in BLOCKED:
            raise ImportError(f"{name} is blocked: these tests run without Qt")
        return None


if os.environ.get("WAYSIDE_NO_QT"):
    sys.meta_path.insert(0, _NoQt())


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> object:
    """Turn a skip into a failure: a test that did not run proves nothing."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"unexpected skip: {report.longrepr}"
    return report
