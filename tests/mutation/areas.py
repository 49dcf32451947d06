"""Which tests guard which file, quickest first."""

from __future__ import annotations

_PHYSICS = ("tests/published/test_doppler_examples.py", "tests/core/physics")
_COMPARE = (
    "tests/core/compare/test_joint.py",
    "tests/published/test_agreement.py",
    "tests/core/compare",
)

AREAS: dict[str, tuple[str, ...]] = {
    "core/wayside/physics/passby.py": ("tests/core/physics",),
    "core/wayside/physics/limits.py": (*_PHYSICS, "tests/core/hand/test_sources.py"),
    "core/wayside/physics/air.py": (
        "tests/published/test_air.py",
        "tests/core/hand/test_predict.py",
    ),
    "core/wayside/physics/bands.py": ("tests/core/test_bands.py",),
    "core/wayside/compare/joint.py": _COMPARE,
    "core/wayside/compare/rows.py": _COMPARE,
    "core/wayside/compare/heard.py": _COMPARE,
    "core/wayside/compare/compare.py": _COMPARE,
    "core/wayside/compare/explain.py": _COMPARE,
    "core/wayside/compare/readings.py": _COMPARE,
    "core/wayside/compare/notes.py": _COMPARE,
    "core/wayside/compare/expected.py": _COMPARE,
}
