"""Which tests guard which file, quickest first."""

from __future__ import annotations

_COMPARE = (
    "tests/core/compare/test_rows.py",
    "tests/core/compare/test_heard.py",
    "tests/core/compare/test_joint.py",
    "tests/published/test_agreement.py",
    "tests/core/compare/test_explain.py",
    "tests/core/compare/test_compare.py",
    "--deselect=tests/core/compare/test_compare.py::test_p_value_is_uniform_when_all_is_well",
)

AREAS: dict[str, tuple[str, ...]] = {
    "core/wayside/physics/passby.py": ("tests/core/physics",),
    "core/wayside/physics/limits.py": (
        "tests/published/test_doppler_examples.py",
        "tests/core/physics/test_limits.py",
    ),
    "core/wayside/physics/air.py": (
        "tests/published/test_air.py",
        "tests/core/physics/test_model_uncertainty.py",
        "tests/core/hand/test_predict.py",
    ),
    "core/wayside/physics/bands.py": ("tests/core/test_bands.py",),
    "core/wayside/measure/motion.py": (
        "tests/core/measure/test_motion.py",
        "tests/core/measure/test_waver.py",
        "--deselect=tests/core/measure/test_waver.py::test_mean_speed_of_a_wavering_buzzer_is_true",
    ),
    "core/wayside/measure/unrest.py": (
        "tests/core/measure/test_unrest.py",
        "tests/core/measure/test_waver.py",
        "--deselect=tests/core/measure/test_waver.py::test_mean_speed_of_a_wavering_buzzer_is_true",
    ),
    "core/wayside/measure/incoherent.py": ("tests/core/measure/test_incoherent.py",),
    "core/wayside/measure/models.py": (
        "tests/core/measure/test_motion.py",
        "tests/core/measure/test_coherent_models.py",
        "tests/core/measure/test_models.py",
    ),
    "core/wayside/compare/joint.py": _COMPARE,
    "core/wayside/compare/rows.py": _COMPARE,
    "core/wayside/compare/heard.py": _COMPARE,
    "core/wayside/compare/compare.py": _COMPARE,
    "core/wayside/compare/explain.py": ("tests/core/compare/test_explain.py", *_COMPARE),
    "core/wayside/compare/readings.py": ("tests/core/compare/test_readings.py",),
    "core/wayside/compare/notes.py": ("tests/core/compare/test_notes.py",),
    "core/wayside/compare/expected.py": ("tests/core/compare/test_readings.py",),
}
